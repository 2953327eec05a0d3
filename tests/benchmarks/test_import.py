"""A year's book brought into an empty one, beside the same rows of text put into SQLite with no checks."""

import contextlib
import csv
import sqlite3
from datetime import date

import pytest
from django.core.management import call_command
from django.db import transaction

from billing.models import Invoice
from practice.lib.profile import Profile
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book

pytestmark = pytest.mark.benchmark
TODAY = date(2026, 11, 25)


@pytest.fixture
def season(empty_book, settings, tmp_path):
    """The folder of the demo practice's year."""
    settings.TODAY = TODAY
    with empty_book.copied_to(tmp_path / "demo").opened():
        call_command("demo", "--seed", "7")
        Profile.objects.update(is_demo=False)
        export_book(tmp_path / "season")
    return tmp_path / "season"


def tables_of(folder) -> dict[str, list[list[str]]]:
    """Return the rows of each file, its header first."""
    tables = {}
    for path in sorted(folder.glob("*.csv")):
        with path.open(newline="", encoding="utf-8") as file:
            tables[path.stem] = list(csv.reader(file))
    return tables


def test_importing_a_year(empty_book, season, tmp_path, compare):
    rows = sum(len(table) - 1 for table in tables_of(season).values())
    issued = len(tables_of(season)["invoices"]) - 1

    def bring_in():
        with transaction.atomic():
            report = import_book(season)
            assert (report.problems, sum(file["new"] + file["known"] for file in report.files)) == ([], rows)
            assert Invoice.objects.count() == issued
            transaction.set_rollback(True)

    def insert_only():
        (tmp_path / "bare.sqlite3").unlink(missing_ok=True)
        with contextlib.closing(sqlite3.connect(tmp_path / "bare.sqlite3")) as bare, bare:
            for name, (header, *table) in tables_of(season).items():
                columns = ", ".join(f'"{column}"' for column in header)
                marks = ", ".join("?" * len(header))
                bare.execute(f"CREATE TABLE {name} ({columns})")
                bare.executemany(f"INSERT INTO {name} VALUES ({marks})", table)
            inserted = bare.total_changes
        assert inserted == rows

    what = f"importing a year, {rows:,} rows"
    with empty_book.copied_to(tmp_path / "target").opened():
        compare(what, bring_in, "the rows as text into SQLite", insert_only, turns=3)
