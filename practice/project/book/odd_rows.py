"""How an import warns about a row."""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from practice.project.book.reader import FolderRow, Problem
from stock.rules.odd import times_usual


def warn(row: FolderRow, column: str, message: str) -> Problem:
    return Problem(row.file.name, row.line, column, message)


def far_above(
    row: FolderRow, column: str, value: Decimal | None, usual: Iterable[Decimal]
) -> Iterator[Problem]:
    """Yield the warning about a value of a row far above the usual of these; none for no value."""
    times = None if value is None else times_usual(value, usual)
    if times:
        yield warn(row, column, f"{value:f} is {times} times the usual")
