"""CSV files for spreadsheets: no cell of them is worked out as a formula.

A spreadsheet takes a cell that begins with one of these characters for a formula, which can fetch an address
or run a command: "CSV Injection", OWASP, https://owasp.org/www-community/attacks/CSV_Injection. An apostrophe
before it makes it text. The book's own files (`practice/project/book/`) are read back and stay as they are.
"""

import csv
import io
import re
from collections.abc import Iterable, Sequence

FORMULA = re.compile(r"[=+\-@\t\r\n]")
NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")


def harmless(cell: object) -> str:
    """Return a cell as text that no spreadsheet takes for a formula; a number stays one, also below zero."""
    text = "" if cell is None else str(cell)
    return f"'{text}" if FORMULA.match(text) and not NUMBER.fullmatch(text) else text


def csv_text(rows: Iterable[Sequence]) -> str:
    """Return rows as CSV (RFC 4180), each cell harmless."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return out.getvalue()
