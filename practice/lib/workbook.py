"""Workbooks: one sheet for each table, with sums and calculated cells as formulas."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from io import BytesIO

from practice.lib.money import minor_digits
from practice.lib.sheet_tables import (
    AMOUNT,
    DAY,
    DISTANCE,
    NUMBER,
    RATE,
    TEXT,
    Cell,
    Formula,
    Table,
    value_of,
)

# What a cell holds at most (ECMA-376, as spreadsheets read it): longer text is cut, and says so.
LONGEST_TEXT = 32_767
HEADING = f"bold {TEXT}"


def workbook(tables: list[Table], currency: str, words: str = "") -> bytes:
    """Return the workbook as XLSX. `words` stand under the first table.

    Text stays text, also where it begins with `=`: only formulas of ours are worked out. Each formula carries
    its value, for viewers that do not calculate.
    """
    from xlsxwriter import Workbook

    out = BytesIO()
    with Workbook(out, {"in_memory": True}) as book:
        formats = {name: book.add_format(looks) for name, looks in looks_of(currency).items()}
        for position, table in enumerate(tables):
            sheet = book.add_worksheet(table.name)
            next_row = _write_table(sheet, table, formats)
            if position == 0:
                for number, line in enumerate(words.splitlines(), start=next_row + 1):
                    sheet.write_string(number, 0, line, formats[TEXT])
    return out.getvalue()


def looks_of(currency: str) -> dict[str, dict]:
    """Return how each kind of cell looks, in the terms of the writer; sums are bold."""
    digits = minor_digits(currency)
    kinds = {
        DAY: "yyyy-mm-dd",
        AMOUNT: "#,##0" + ("." + "0" * digits if digits else ""),
        NUMBER: "#,##0.######",
        DISTANCE: "#,##0.0",
        RATE: "0.######",
        TEXT: "@",
    }
    plain = {kind: {"num_format": digits} for kind, digits in kinds.items()}
    return plain | {f"bold {kind}": looks | {"bold": True} for kind, looks in plain.items()}


def _write_table(sheet, table: Table, formats: dict) -> int:
    """Write a table with its sums; return the number of the row after it, from 0."""
    sheet.freeze_panes(1, 0)
    for number, column in enumerate(table.columns):
        sheet.set_column(number, number, 34 if number == 0 and column.kind == TEXT else 16)
        sheet.write_string(0, number, column.name, formats[HEADING])
    for row, values in enumerate(table.rows, start=1):
        for number, (value, column) in enumerate(zip(values, table.columns, strict=True)):
            _write_cell(sheet, (row, number), value, formats[column.kind])
    if not any(column.summed for column in table.columns):
        return len(table.rows) + 1
    row = len(table.rows) + 2
    sheet.write_string(row, 0, "total", formats[HEADING])
    for number, column in enumerate(table.columns):
        if column.summed:
            letter = table.letter(column.name)
            added = sum((_number_in(values[number]) for values in table.rows), Decimal(0))
            total = Formula(f"SUM({letter}2:{letter}{row})", added)
            _write_cell(sheet, (row, number), total, formats[f"bold {column.kind}"])
    return row + 1


def _number_in(cell: Cell) -> Decimal | int:
    """Return what a cell adds to a sum: nothing if it holds text."""
    value = value_of(cell)
    return value if isinstance(value, Decimal | int) else 0


def _write_cell(sheet, at: tuple[int, int], value: Cell, looks) -> None:
    write: Callable = sheet.write_number
    if isinstance(value, Formula):
        sheet.write_formula(*at, "=" + value.text.replace("{row}", str(at[0] + 1)), looks, value.value)
        return
    if value is None or value == "":
        sheet.write_blank(*at, None, looks)
        return
    if isinstance(value, str):
        write, value = sheet.write_string, _that_fits(value)
    elif isinstance(value, date):
        write = sheet.write_datetime
    write(*at, value, looks)


def _that_fits(text: str) -> str:
    return text if len(text) <= LONGEST_TEXT else f"{text[: LONGEST_TEXT - 1]}…"
