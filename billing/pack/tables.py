"""The tables of the pack: each is a sheet of the workbook and a CSV file. Plain values and formulas."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from billing.reports.year_end import YearEnd
from practice.lib.money import minor_digits
from practice.lib.profile import Profile

TEXT, DAY, AMOUNT, NUMBER, DISTANCE, RATE = "text", "day", "amount", "number", "distance", "rate"


@dataclass(frozen=True)
class Formula:
    """A cell that the workbook works out; `value` is what it comes to, which the CSV file holds.

    In `text`, `{row}` stands for the number of the cell's own row.
    """

    text: str
    value: Decimal


Cell = str | date | Decimal | int | Formula | None


@dataclass(frozen=True)
class TableColumn:
    """A column: its heading, what it holds, and whether the workbook adds it up under its rows."""

    name: str
    kind: str = TEXT
    summed: bool = False


@dataclass(frozen=True)
class Table:
    """A table: `name` is the sheet's, `file` the CSV file's."""

    name: str
    file: str
    columns: tuple[TableColumn, ...]
    rows: tuple[tuple[Cell, ...], ...]

    def letter(self, column: str) -> str:
        """Return the sheet's letter of a column."""
        return chr(ord("A") + [c.name for c in self.columns].index(column))

    def cells(self, column: str) -> str:
        """Return the address of a column's cells, as a formula on another sheet names them."""
        letter, last = self.letter(column), max(len(self.rows), 1) + 1
        return f"'{self.name}'!${letter}$2:${letter}${last}"

    def sum(self, column: str) -> str:
        """Return the formula of a column's sum."""
        return f"SUM({self.cells(column)})"

    def at(self, column: str, row: int) -> str:
        """Return the address of one cell; `row` counts the table's own rows from 0."""
        return f"'{self.name}'!${self.letter(column)}${row + 2}"


def value_of(cell: Cell) -> Cell:
    """Return what a cell comes to."""
    return cell.value if isinstance(cell, Formula) else cell


def columns(*names: str | tuple) -> tuple[TableColumn, ...]:
    """Return columns from names, or (name, kind), or (name, kind, summed)."""
    return tuple(TableColumn(*((name,) if isinstance(name, str) else name)) for name in names)


class YearTables:
    """What the makers of a year's tables share: the year, and the conditions of its days."""

    def __init__(self, year: YearEnd, profile: Profile):
        self.year, self.profile, self.period = year, profile, year.period
        self.digits = minor_digits(profile.currency)
        self.sales_tax_word = profile.home_country.sales_tax
        self.gather()

    def gather(self) -> None:
        """Make the tables."""
        raise NotImplementedError

    def dated(self, field: str) -> dict:
        """Return the condition that a field is a day of the year, for `filter()`."""
        return {f"{field}__gte": self.period.begin, f"{field}__lte": self.period.end}
