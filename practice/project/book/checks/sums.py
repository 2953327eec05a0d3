"""Sums that the book can hold: what rows come to, each and all together, and the ledger of an item."""

from collections import defaultdict
from decimal import Decimal
from math import prod

from django.db.models import Max, Sum

from practice.lib.millionths import LARGEST, LIMIT
from practice.project.book.checks.common import Checks
from practice.project.book.columns import BookFile
from practice.project.book.reader import FolderRow
from practice.project.book.values import Number
from stock.models import Movement

# Numbers of a row that the program multiplies; the last is where the complaint goes.
MULTIPLIED = {
    "work.csv": ("quantity", "price"),
    "materials.csv": ("quantity", "price"),
    "order_lines.csv": ("packs", "pack_size", "unit_price"),
    "purchases.csv": ("quantity", "unit_cost"),
    "counts.csv": ("quantity", "unit_cost"),
    "count_sheets.csv": ("quantity", "unit_cost"),
    "charges.csv": ("quantity", "unit_price"),
    "invoice_lines.csv": ("quantity", "unit_price"),
}
MOVED = ("purchases.csv", "counts.csv", "stock_facts.csv", "materials.csv")
# All rows of a file together, in one column.
LARGEST_SUM = LARGEST * 1000


def check_sums(checks: Checks) -> None:
    """Complain about numbers that are possible each, but not multiplied or added up."""
    before = len(checks.folder.problems)
    for name, columns in MULTIPLIED.items():
        for row in checks.new(name):
            _check_product(checks, row, columns)
    for name in checks.folder.tables:
        _check_columns(checks, name)
    if len(checks.folder.problems) == before:
        _check_ledgers(checks)


def _check_product(checks: Checks, row: FolderRow, columns: tuple[str, ...]) -> None:
    numbers = [row[name] for name in columns]
    product = 0 if None in numbers else abs(prod(numbers))
    if product >= LARGEST:
        times = " times ".join(columns)
        checks.complain(row, columns[-1], f"{times} comes to {product:,.0f}: it has to be below {LARGEST:,}")


def _check_columns(checks: Checks, name: str) -> None:
    """Look at the sums over a file: those of the book count only where the folder's are far from usual."""
    rows = checks.new(name)
    if not rows:
        return
    file: BookFile = rows[0].file
    for column in file.columns:
        if not isinstance(column.kind, Number) or column.kind.limit != LARGEST:
            continue
        added = [(row, abs(row[column.name])) for row in rows if row[column.name] is not None]
        if sum(number for _, number in added) < LARGEST:
            continue
        total = sum((abs(column.of(row) or 0) for row in file.stream()), Decimal(0))
        for row, number in added:
            total += number
            if total >= LARGEST_SUM:
                message = f"all rows together come to {total:,.0f}: they have to stay below {LARGEST_SUM:,}"
                checks.complain(row, column.name, message)
                break


def _check_ledgers(checks: Checks) -> None:
    """What an item is worth never passes all its units at the highest of its costs."""
    moved: dict[str, list[FolderRow]] = defaultdict(list)
    for name in MOVED:
        for row in checks.new(name):
            if row["quantity"] is not None:
                moved[row["item"]].append(row)
    for key, rows in moved.items():
        units, cost = sum(row["quantity"] for row in rows), max(map(_cost_of, rows))
        if units * max(cost, 1) < LARGEST:
            continue
        if item := checks.lookup.in_book("items.csv", key):
            known = Movement.objects.filter(item=item).aggregate(units=Sum("quantity"), cost=Max("unit_cost"))
            units, cost = units + (known["units"] or 0), max(cost, known["cost"] or 0)
        if units * max(cost, 1) >= LIMIT:
            row = max(rows, key=lambda row: row["quantity"])
            worth = f"{units:,.0f} at up to {cost:,.0f} each"
            checks.complain(row, "quantity", f'"{key}" moves {worth}: more than the book can add up')


def _cost_of(row: FolderRow) -> Decimal:
    return (row["unit_cost"] if "unit_cost" in row.file.by_name else None) or Decimal(0)
