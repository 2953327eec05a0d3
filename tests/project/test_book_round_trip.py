"""The demo practice: out, into an empty book, out again; and every invoice worked out a second time."""

import filecmp
from datetime import date

import pytest
from django.core.management import call_command

from billing.models import Invoice
from practice.lib.profile import Profile
from practice.models import Client, Horse, Place, Visit
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from practice.project.demo.season import make_season
from stock.actions.valuing import balances_that_differ, value_items
from stock.models import Item, Valuation
from tests.processes import run_command
from tests.recomputed.invoices import expected_invoices, rows_of

TODAY = date(2026, 11, 25)
COLUMNS = ("item", "position", "kind", "quantity", "cost", "on_hand", "value", "location")


@pytest.fixture
def demo(db, settings, tmp_path):
    """The demo practice, and its export."""
    settings.TODAY = TODAY
    call_command("demo", "--seed", "7")
    export_book(tmp_path / "season")
    return tmp_path / "season"


def test_the_demo_practice_stands_up_to_every_check(demo):
    """One test, as a season takes its seconds: its size, invoices, balances, ledger and import."""
    counts = [model.objects.count() for model in (Horse, Client, Place)]
    today = Visit.objects.filter(date=TODAY).values_list("status", flat=True)
    assert (counts, set(today)) == ([60, 25, 15], {"done", "planned"})
    assert Invoice.objects.filter(credit_applied__gt=0).exists()

    issued = [
        (row["number"], row["client"], row["issued"], *(int(row[c].replace(".", "")) for c in ("net", "tax")))
        for row in rows_of(demo, "invoices.csv")
    ]
    assert len(issued) > 300
    assert issued == expected_invoices(demo, through="2026-11-24")

    assert balances_that_differ() == []
    before = list(Valuation.objects.order_by("item", "position").values_list(*COLUMNS))
    value_items(Item.objects.values_list("pk", flat=True))
    assert list(Valuation.objects.order_by("item", "position").values_list(*COLUMNS)) == before

    Profile.objects.update(is_demo=False)
    report = import_book(demo)
    assert report.problems == []
    assert {(row["new"], row["updated"]) for row in report.files} == {(0, 0)}


@pytest.mark.slow
def test_an_export_brought_into_an_empty_book_is_exported_byte_for_byte_the_same(demo, absent_book, tmp_path):
    brought = run_command("import_book", demo, **absent_book)
    again = run_command("export_book", tmp_path / "again", **absent_book)

    assert (brought.returncode, brought.stderr, again.returncode) == (0, "", 0)
    names = sorted(path.name for path in demo.iterdir())
    assert sorted(path.name for path in (tmp_path / "again").iterdir()) == names
    assert filecmp.cmpfiles(demo, tmp_path / "again", names, shallow=False) == (names, [], [])


def test_one_seed_gives_one_book():
    assert make_season(1, 3, TODAY) == make_season(1, 3, TODAY)
    assert make_season(1, 3, TODAY) != make_season(1, 4, TODAY)
