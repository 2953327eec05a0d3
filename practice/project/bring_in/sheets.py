"""Reading a spreadsheet from outside: XLSX or CSV, every cell as the text that a reader would type for it.

A file is bounded before anything is read of it, and whatever is wrong with it is a broken rule.
"""

import zipfile
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from io import BytesIO

from practice.lib import formats
from practice.lib.errors import RuleBroken
from practice.project.bring_in.separated import read_separated

MOST_ROWS, MOST_COLUMNS, MOST_SHEETS, LONGEST_CELL = 5_000, 60, 20, 5_000
# An XLSX file is a ZIP: what it may unpack to, in how many parts.
LARGEST_UNPACKED, MOST_PARTS = 40_000_000, 2_000
ZIP, OLD_SPREADSHEET = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
SAVE_ANEW = "Open it in your spreadsheet program, save it as XLSX or CSV, and choose that file."
# What a spreadsheet shows in place of a value that it could not work out (ECMA-376, 18.18.11 and 18.17.3).
FAULTS = ("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!", "#GETTING_DATA")


@dataclass(frozen=True)
class SheetOfText:
    """A sheet: its name, and its rows of cells as text, each row as long as it is filled."""

    name: str
    rows: list[list[str]]


def read_sheets(content: bytes, locale: str) -> list[SheetOfText]:
    """Return the sheets of a file that hold anything, numbers as the reader writes them, dates as 2026-10-14.

    Raises RuleBroken where there are none, for what is no spreadsheet, and for one that is too large.
    """
    if content.startswith(OLD_SPREADSHEET):
        raise RuleBroken(
            "old_spreadsheet", f"This is an old kind of spreadsheet, or one with a password. {SAVE_ANEW}"
        )
    if content.startswith(ZIP):
        sheets = _sheets_of_workbook(content, locale)
    else:
        sheets = [SheetOfText("", [_trimmed(row) for row in read_separated(content, MOST_ROWS + 1)])]
    sheets = [sheet for sheet in sheets if any(sheet.rows)]
    if not sheets:
        raise RuleBroken("empty_spreadsheet", "There is nothing in this file. Choose another one.")
    for sheet in sheets:
        _check_bounds(sheet)
    return sheets


def _check_bounds(sheet: SheetOfText) -> None:
    if len(sheet.rows) > MOST_ROWS:
        raise RuleBroken(
            "too_many_rows",
            f"A sheet may have up to {MOST_ROWS:,} rows. Split it and bring in one part at a time.",
        )
    if max(map(len, sheet.rows)) > MOST_COLUMNS:
        raise RuleBroken(
            "too_many_columns",
            f"A sheet may have up to {MOST_COLUMNS} columns. Delete those that you do not need.",
        )
    for number, row in enumerate(sheet.rows, start=1):
        if any(len(cell) > LONGEST_CELL for cell in row):
            raise RuleBroken(
                "cell_too_long",
                f"A cell in row {number} has more than {LONGEST_CELL:,} characters. Shorten it.",
            )


def _trimmed(cells: list[str]) -> list[str]:
    """Return cells without blanks around their text, up to the last one that holds any."""
    cells = [_text(cell) for cell in cells]
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _text(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n").replace("\u00a0", " ").strip()


def _sheets_of_workbook(content: bytes, locale: str) -> list[SheetOfText]:
    from openpyxl import load_workbook

    _check_unpacked(content)
    try:
        book = load_workbook(BytesIO(content), read_only=True, data_only=True, keep_links=False)
        sheets = book.worksheets[:MOST_SHEETS]
        return [SheetOfText(str(sheet.title)[:100], _rows_of(sheet, locale)) for sheet in sheets]
    except Exception as error:  # Whatever the library stumbles over is in a file that anyone may have made.
        raise RuleBroken(
            "unreadable_spreadsheet", f"This file is damaged, or it is not a spreadsheet. {SAVE_ANEW}"
        ) from error


def _check_unpacked(content: bytes) -> None:
    """Refuse a ZIP that is damaged or would unpack to too much; it never unpacks to more than it says."""
    try:
        with zipfile.ZipFile(BytesIO(content)) as packed:
            parts = packed.infolist()
    except Exception as error:
        raise RuleBroken(
            "damaged_spreadsheet", f"This file is damaged and cannot be opened. {SAVE_ANEW}"
        ) from error
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > LARGEST_UNPACKED:
        raise RuleBroken(
            "spreadsheet_too_large",
            "This spreadsheet is too large. Copy the rows that you need to a new one.",
        )


def _rows_of(sheet, locale: str) -> list[list[str]]:
    """Return the rows of a sheet, at most one more of them and one more column than are allowed."""
    found = sheet.iter_rows(min_row=1, max_row=MOST_ROWS + 1, min_col=1, max_col=MOST_COLUMNS + 1)
    rows = [_trimmed([_cell_text(cell.value, cell, locale) for cell in row]) for row in found]
    while rows and not rows[-1]:
        rows.pop()
    return rows


def _cell_text(value, cell, locale: str) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        value = value.date() if value.time() == time() else value
        return value.isoformat(" ", "minutes") if isinstance(value, datetime) else value.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float):
        return number_text(value, cell.number_format or "", locale)
    # No text of a database or a CSV file can hold half a character.
    return str(value).encode("utf-8", "replace").decode()


def number_text(value: int | float, number_format: str, locale: str) -> str:
    """Return a number of a spreadsheet as a reader types it: `12.5`, `8%`, and `00417` where it is shown so.

    A spreadsheet keeps binary floats and shows 15 digits of them; what is read are these digits.
    """
    number = Decimal(f"{value:.15g}")
    if not number.is_finite() or abs(number) >= Decimal(10) ** 15:
        return str(value)
    if len(number_format) > 1 and set(number_format) == {"0"} and number == number.to_integral_value():
        return str(int(number)).zfill(len(number_format))
    if number_format.endswith("%"):
        return formats.for_a_field(number * 100, locale) + "%"
    return formats.for_a_field(number, locale)
