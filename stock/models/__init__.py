from stock.models.counting import Found
from stock.models.item import Fits, Item, ItemKind, Side
from stock.models.method import ValuationChange
from stock.models.movement import (
    Balance,
    Checkpoint,
    Movement,
    MovementKind,
    Purchase,
    Shelf,
    Valuation,
)
from stock.models.order import Order, OrderLine
from stock.models.supplier import Location, Supplier

__all__ = [
    "Balance",
    "Checkpoint",
    "Fits",
    "Found",
    "Item",
    "ItemKind",
    "Location",
    "Movement",
    "MovementKind",
    "Order",
    "OrderLine",
    "Purchase",
    "Shelf",
    "Side",
    "Supplier",
    "Valuation",
    "ValuationChange",
]
