"""Cells of CSV files for spreadsheets: no text is taken for a formula, and numbers stay numbers."""

import csv
import io
from datetime import date
from decimal import Decimal

import pytest

from practice.lib.spreadsheet_cells import csv_text, harmless


@pytest.mark.parametrize(
    ("cell", "shown"),
    [
        # The characters that OWASP lists under "CSV Injection".
        ('=HYPERLINK("http://evil.example","Pay")', '\'=HYPERLINK("http://evil.example","Pay")'),
        ("+1 555 0116", "'+1 555 0116"),
        ("-2+3+cmd|' /C calc'!A0", "'-2+3+cmd|' /C calc'!A0"),
        ("@SUM(A1:A9)", "'@SUM(A1:A9)"),
        ("\t=1+1", "'\t=1+1"),
        ("\r=1+1", "'\r=1+1"),
        ("-", "'-"),
        ("-5\n=1+1", "'-5\n=1+1"),
        ("-12.50", "-12.50"),
        (Decimal("-0.5"), "-0.5"),
        (-3, "-3"),
        (date(2026, 11, 27), "2026-11-27"),
        ("Plain front, No 2 = small", "Plain front, No 2 = small"),
        ("", ""),
        (None, ""),
    ],
)
def test_only_what_a_spreadsheet_would_work_out_gets_an_apostrophe(cell, shown):
    assert harmless(cell) == shown


def test_every_cell_of_a_file_is_harmless_and_comes_back_as_one_cell():
    written = csv_text([["name", "left"], ['=1+1,"x"', Decimal("-2")], ["@a\nb", None]])

    assert written.endswith("\r\n")
    assert list(csv.reader(io.StringIO(written, newline=""))) == [
        ["name", "left"],
        ['\'=1+1,"x"', "-2"],
        ["'@a\nb", ""],
    ]
