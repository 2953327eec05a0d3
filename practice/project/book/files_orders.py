"""The files of orders: what was ordered from whom, and the lines in packs."""

from practice.project.book.columns import (
    NOT_NEGATIVE,
    POSITIVE,
    ZERO,
    BookColumn,
    BookFile,
    dated,
    own_ref,
    ref,
    text,
)
from practice.project.book.values import Whole
from stock.models import Order, OrderLine

ORDERS, ORDER_LINES = "orders.csv", "order_lines.csv"


def orders() -> tuple[BookFile, ...]:
    return (
        BookFile(
            ORDERS,
            (
                own_ref(),
                dated("date", "ordered_on", required=True),
                ref("supplier", "suppliers.csv"),
                text("note"),
                dated("expected", "expected_on"),
            ),
            lambda: Order.objects.select_related("supplier").order_by("pk"),
            known_by=("ref",),
        ),
        BookFile(
            ORDER_LINES,
            (
                ref("order", ORDERS, required=True),
                ref("item", "items.csv", required=True),
                BookColumn("packs", Whole(1), required=True),
                BookColumn("pack_size", POSITIVE, required=True),
                BookColumn("unit_price", NOT_NEGATIVE),
                BookColumn("cancelled", NOT_NEGATIVE, default=ZERO),
            ),
            lambda: OrderLine.objects.select_related("order", "item").order_by("pk"),
            known_by=("order", "item"),
        ),
    )
