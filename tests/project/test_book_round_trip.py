"""The demo practice: out, into an empty book, out again; and every invoice worked out a second time."""

from datetime import date

import pytest
from django.core.management import call_command
from django.test import override_settings

from billing.models import Invoice
from practice.lib.profile import Profile
from practice.models import Client, Horse, Place, Visit
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from practice.project.demo.season import make_season
from stock.actions.valuing import value_items
from stock.models import Item, Valuation
from tests.conftest import kept_for_a_module
from tests.recomputed.invoices import expected_credits, expected_invoices, rows_of
from tests.stock.balances import balances_that_differ

TODAY = date(2026, 11, 25)
COLUMNS = ("item", "position", "kind", "quantity", "cost", "on_hand", "value", "location")


@pytest.fixture(scope="module")
def demo(empty_template, django_db_blocker, tmp_path_factory):
    """The demo practice, and its export."""
    folder = tmp_path_factory.mktemp("demo") / "season"
    with kept_for_a_module(django_db_blocker), override_settings(TODAY=TODAY):
        call_command("demo", "--seed", "7")
        export_book(folder)
        yield folder


def test_the_demo_practice_stands_up_to_every_check(demo, db):
    """Its size, invoices, balances, ledger and import."""
    counts = [model.objects.count() for model in (Horse, Client, Place)]
    today = Visit.objects.filter(date=TODAY).values_list("status", flat=True)
    assert (counts, set(today)) == ([60, 25, 15], {"done", "planned"})
    assert Invoice.objects.filter(credit_applied__gt=0).exists()
    assert (
        len(list((demo / "files").iterdir())) == len(rows_of(demo, "files.csv")) == 7
    )  # 3 receipts, 4 drawings

    issued = [
        (row["number"], row["client"], row["issued"], *(int(row[c].replace(".", "")) for c in ("net", "tax")))
        for row in rows_of(demo, "invoices.csv")
    ]
    assert len(issued) > 300
    assert issued == expected_invoices(demo, through="2026-11-24")

    credited = [
        (row["number"], row["invoice"], *(row[name] for name in ("net", "tax", "total")))
        for row in rows_of(demo, "credit_notes.csv")
    ]
    assert len(credited) == 3
    assert credited == expected_credits(demo)

    assert balances_that_differ() == []
    before = list(Valuation.objects.order_by("item", "position").values_list(*COLUMNS))
    value_items(Item.objects.values_list("pk", flat=True))
    assert list(Valuation.objects.order_by("item", "position").values_list(*COLUMNS)) == before

    Profile.objects.update(is_demo=False)
    report = import_book(demo)
    assert report.problems == []
    assert {(row["new"], row["updated"]) for row in report.files} == {(0, 0)}


@pytest.mark.slow
def test_an_export_brought_into_an_empty_book_is_exported_byte_for_byte_the_same(demo, check_it_comes_back):
    check_it_comes_back(demo)


def test_one_seed_gives_one_book():
    assert make_season(1, 3, TODAY) == make_season(1, 3, TODAY)
    assert make_season(1, 3, TODAY) != make_season(1, 4, TODAY)
