"""Orders of a folder: what has to hold for them, and how they are written."""

from datetime import date
from decimal import Decimal

from practice.lib.millionths import LIMIT
from practice.project.book.files_orders import ORDER_LINES, ORDERS
from practice.project.book.reader import FolderRow, own_key
from stock.models import Order, OrderLine

BATCH = 400


def check_orders(checks) -> None:
    """Complain of order lines that cannot be, and of deliveries that no order asked for."""
    placed = {row["ref"]: row["date"] for row in checks.folder.rows(ORDERS)}
    for row in checks.new(ORDER_LINES):
        checks.must_be_open(row, "order", _placed_on(checks, placed, row["order"]))
        if None not in (row["packs"], row["pack_size"], row["cancelled"]):
            _check_line(checks, row)
    deliveries = [row for row in checks.new("purchases.csv") if row["order"]]
    lines = _lines_known(checks) if deliveries else set()
    for row in deliveries:
        placed_on = _placed_on(checks, placed, row["order"])
        if placed_on is None:  # an order that is not there was complained of already
            continue
        if (row["order"], row["item"]) not in lines and ORDER_LINES not in checks.folder.unread:
            checks.complain(row, "order", f'"{row["order"]}" has no line of "{row["item"]}"')
        elif row["date"] and row["date"] < placed_on:
            message = f"{row['date']} is before the order, which was placed on {placed_on}"
            checks.complain(row, "date", message)


def _check_line(checks, row: FolderRow) -> None:
    ordered = row["packs"] * row["pack_size"]
    if ordered >= LIMIT:
        checks.complain(row, "packs", f"{row['packs']} packs of {row['pack_size']:f} are too many")
    elif row["cancelled"] > ordered:
        message = f"{row['cancelled']:f} is more than was ordered, {ordered:f}"
        checks.complain(row, "cancelled", message)


def _placed_on(checks, placed: dict[str, date], order: str | None) -> date | None:
    known = checks.lookup.in_book(ORDERS, order)
    return known.ordered_on if known else placed.get(order)


def _lines_known(checks) -> set[tuple[str, str]]:
    """Return the (order, item) of every line in folder and book."""
    in_book = OrderLine.objects.select_related("order", "item")
    in_folder = {(row["order"], row["item"]) for row in checks.folder.rows(ORDER_LINES)}
    return in_folder | {(line.order.key, line.item.key) for line in in_book}


def write_orders(writer) -> None:
    """Write new orders and new lines of them."""
    rows = writer.new(ORDERS)
    placed = [
        Order(
            supplier=writer.find("suppliers.csv", row["supplier"]),
            ordered_on=row["date"],
            note=row["note"],
            **own_key(row),
        )
        for row in rows
    ]
    Order.objects.bulk_create(placed, batch_size=BATCH)
    for row, order in zip(rows, placed, strict=True):
        writer.lookup.objects[ORDERS][row["ref"]] = order
    lines = [
        OrderLine(
            order=writer.find(ORDERS, row["order"]),
            item=writer.find("items.csv", row["item"]),
            quantity=Decimal(row["packs"]) * row["pack_size"],
            pack_size=row["pack_size"],
            unit_price=row["unit_price"],
            cancelled=row["cancelled"],
        )
        for row in writer.new(ORDER_LINES)
    ]
    OrderLine.objects.bulk_create(lines, batch_size=BATCH)


def lines_delivered(writer, deliveries: list[FolderRow]) -> list[OrderLine | None]:
    """Return the order line that each delivery is of; None where it names no order."""
    if not any(row["order"] for row in deliveries):
        return [None] * len(deliveries)
    lines = {(line.order_id, line.item_id): line for line in OrderLine.objects.all()}
    return [
        lines[writer.find(ORDERS, row["order"]).pk, writer.find("items.csv", row["item"]).pk]
        if row["order"]
        else None
        for row in deliveries
    ]
