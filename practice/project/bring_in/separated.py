"""Reading a CSV file from any program: its encoding and what stands between its cells are found out."""

import csv
import io
from collections import Counter
from itertools import islice

from practice.lib.characters import FORBIDDEN
from practice.lib.errors import RuleBroken

MARKS = (",", ";", "\t", "|")
# How much is looked at to find out what stands between the cells.
SAMPLE_LETTERS, SAMPLE_ROWS = 20_000, 60
BYTE_ORDER_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))


def read_separated(content: bytes, most_rows: int) -> list[list[str]]:
    """Return the rows of a CSV file as text, blank ones too, at most so many.

    Raises RuleBroken for what is no text, and for a cell that does not end.
    """
    text = decoded(content)
    try:
        rows = csv.reader(io.StringIO(text, newline=""), delimiter=mark_of(text))
        return list(islice(rows, most_rows))
    except csv.Error as error:
        raise RuleBroken(
            "unreadable_csv", "The quotation marks in this file do not match. Save it as CSV again."
        ) from error


def decoded(content: bytes) -> str:
    """Return the text of a file: by its byte order mark, else UTF-8, else Windows' code page 1252.

    Raises RuleBroken("no_text") for anything else, such as a picture.
    """
    marked = [encoding for mark, encoding in BYTE_ORDER_MARKS if content.startswith(mark)]
    for encoding in marked or ["utf-8", "cp1252"]:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if len(FORBIDDEN.findall(text)) * 100 <= len(text):
            return text
    raise RuleBroken("no_text", "This is neither an XLSX file nor a CSV file. Choose one of those.")


def mark_of(text: str) -> str:
    """Return what stands between the cells: the mark by which the most rows have equally many cells.

    The standard library's `csv.Sniffer` gives up where titles or sums stand around the table.
    """
    sample = text[:SAMPLE_LETTERS]
    return max(MARKS, key=lambda mark: _evenness(sample, mark))


def _evenness(sample: str, mark: str) -> tuple[int, int]:
    rows = islice(csv.reader(io.StringIO(sample, newline=""), delimiter=mark), SAMPLE_ROWS)
    try:
        widths = Counter(len(row) for row in rows if len(row) > 1)
    except csv.Error:
        return 0, 0
    return max(((count, width) for width, count in widths.items()), default=(0, 0))
