"""Rules of orders and of what was delivered for them."""

from datetime import date

from practice.lib.millionths import LARGEST
from practice.project.book.checks.common import Checks
from practice.project.book.files_orders import ORDER_LINES, ORDERS
from practice.project.book.reader import FolderRow
from stock.models import OrderLine


def check_orders(checks: Checks) -> None:
    """Complain about impossible order lines, and deliveries that no order asked for."""
    for row in checks.new(ORDERS):
        if row["expected"] and row["date"] and row["expected"] < row["date"]:
            message = f"{row['expected']} is before the order was placed, on {row['date']}"
            checks.complain(row, "expected", message)
    placed = {row["ref"]: row["date"] for row in checks.folder.rows(ORDERS)}
    for row in checks.new(ORDER_LINES):
        checks.must_be_open(row, "order", _placed_on(checks, placed, row["order"]))
        if None not in (row["packs"], row["pack_size"], row["cancelled"]):
            _check_line(checks, row)
    deliveries = [row for row in checks.new("purchases.csv") if row["order"]]
    lines = _lines_known(checks) if deliveries else set()
    for row in deliveries:
        placed_on = _placed_on(checks, placed, row["order"])
        if placed_on is None:  # an order that is not there has been reported already
            continue
        if (row["order"], row["item"]) not in lines and ORDER_LINES not in checks.folder.unread:
            checks.complain(row, "order", f'"{row["order"]}" has no line for "{row["item"]}"')
        elif row["date"] and row["date"] < placed_on:
            message = f"{row['date']} is before the order was placed, on {placed_on}"
            checks.complain(row, "date", message)


def _check_line(checks: Checks, row: FolderRow) -> None:
    ordered = row["packs"] * row["pack_size"]
    if ordered >= LARGEST:
        checks.complain(row, "packs", f"{row['packs']} packs of {row['pack_size']:f} are too many")
    elif row["cancelled"] > ordered:
        message = f"{row['cancelled']:f} is more than was ordered, {ordered:f}"
        checks.complain(row, "cancelled", message)


def _placed_on(checks: Checks, placed: dict[str, date], order: str | None) -> date | None:
    known = checks.lookup.in_book(ORDERS, order)
    return known.ordered_on if known else placed.get(order)


def _lines_known(checks) -> set[tuple[str, str]]:
    """Return the (order, item) of every line in folder and book."""
    in_book = OrderLine.objects.select_related("order", "item")
    in_folder = {(row["order"], row["item"]) for row in checks.folder.rows(ORDER_LINES)}
    return in_folder | {(line.order.key, line.item.key) for line in in_book}
