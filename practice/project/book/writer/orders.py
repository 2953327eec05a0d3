"""Writing orders and their lines."""

from decimal import Decimal

from practice.project.book.files_orders import ORDER_LINES, ORDERS
from practice.project.book.reader import own_key
from practice.project.book.writer.common import BATCH, Writer
from stock.models import Order, OrderLine


def write_orders(writer: Writer) -> None:
    """Write new orders and new lines of them."""
    rows = writer.new(ORDERS)
    placed = [
        Order(
            supplier=writer.find("suppliers.csv", row["supplier"]),
            ordered_on=row["date"],
            note=row["note"],
            expected_on=row["expected"],
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


def lines_delivered(writer: Writer) -> dict[tuple[str, str], OrderLine]:
    """Return the order lines that new deliveries are of, by the keys of order and item."""
    lines = {(line.order_id, line.item_id): line for line in OrderLine.objects.all()}
    named = {(row["order"], row["item"]) for row in writer.new("purchases.csv") if row["order"]}
    return {
        (order, item): lines[writer.find(ORDERS, order).pk, writer.find("items.csv", item).pk]
        for order, item in named
    }
