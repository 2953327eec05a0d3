"""Tables that leave the program: each is a sheet of a workbook, or a CSV file. Plain values and formulas."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from practice.lib.spreadsheet_cells import csv_text

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


def csv_of(table: Table) -> bytes:
    """Return a table as CSV: UTF-8, RFC 4180, days and numbers as the book's files write them."""
    head = [column.name for column in table.columns]
    rows = [[_text(value_of(cell)) for cell in row] for row in table.rows]
    return csv_text([head, *rows]).encode()


def _text(value) -> str:
    if value is None:
        return ""
    if isinstance(value, date):
        return value.isoformat()
    return value if isinstance(value, str | int) else f"{value:f}"
