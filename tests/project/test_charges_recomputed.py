"""Seasons drawn at random, with charges, amounts off, discounts and a minimum, worked out a second time."""

import random
from datetime import timedelta

import pytest

from billing.actions.invoicing import close_days
from billing.models import Charge, Invoice, InvoiceLine
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from tests.project.test_prices_recomputed import BEGIN, CLIENTS, END, Season, write
from tests.recomputed.invoices import expected_invoices, rows_of

pytestmark = pytest.mark.django_db


class ChargedSeason(Season):
    """A season whose practice has a minimum, whose clients have discounts, and that charges this and that."""

    def write(self, folder, rule):
        super().write(folder, rule)
        [practice] = rows_of(folder, "practice.csv")
        write(folder, "practice", [practice | {"minimum_call": self.number(90, 2), "travel_taxable": "yes"}])
        clients = rows_of(folder, "clients.csv")
        write(folder, "clients", [row | {"discount": self.draw.choice(["", "5", "12.5"])} for row in clients])
        write(folder, "charges", [self.charge(number) for number in range(40)])

    def charge(self, number: int) -> dict:
        price = self.draw.choice(["", "-", "-"]) + self.number(40, 2)
        row = {"ref": f"c{number}", "date": self.day(), "client": self.draw.choice(CLIENTS), "name": "Charge"}
        row |= {"unit_price": price, "quantity": self.draw.choice(["", "1.5", "3"])}
        row["visit"] = self.draw.choice(["", f"v{self.draw.randrange(40)}"])
        return row | {"taxable": self.draw.choice(["yes", "no"])}


@pytest.mark.parametrize(("seed", "rule"), [(5, "per_distance"), (6, "round_trip")])
def test_a_season_with_charges_and_discounts_stands_up(seed, rule, tmp_path):
    folder, out = tmp_path / "in", tmp_path / "out"
    folder.mkdir()
    ChargedSeason(seed).write(folder, rule)
    assert import_book(folder).problems == []

    close_days(BEGIN, END, END + timedelta(1))
    export_book(out)

    issued = [
        (row["number"], row["client"], row["issued"], *(int(row[c].replace(".", "")) for c in ("net", "tax")))
        for row in rows_of(out, "invoices.csv")
    ]
    assert len(issued) > 30
    assert issued == expected_invoices(out, through=END.isoformat())
    kinds = {row["kind"] for row in rows_of(out, "invoice_lines.csv")}
    assert kinds == {"service", "material", "travel", "charge", "discount"}
    assert InvoiceLine.objects.filter(kind="charge", charge=None).exists()
    assert Charge.objects.uninvoiced().exists()


@pytest.mark.parametrize("seed", [5])
def test_its_days_closed_in_any_order_lose_no_charge_and_bill_none_below_zero(seed, tmp_path):
    folder = tmp_path / "in"
    folder.mkdir()
    ChargedSeason(seed).write(folder, "per_distance")
    import_book(folder)
    days = [BEGIN + timedelta(number) for number in range((END - BEGIN).days + 1)]
    random.Random(seed).shuffle(days)

    for day in days:
        close_days(day, day, END + timedelta(1))

    assert not Invoice.objects.filter(net__lt=0)
    assert not [row for row in Charge.objects.uninvoiced() if row.unit_price > 0]
    for invoice in Invoice.objects.prefetch_related("lines"):
        bases = {}
        for line in invoice.lines.all():
            bases[line.tax_names] = bases.get(line.tax_names, 0) + line.net
        assert all(base >= 0 for taxes, base in bases.items() if taxes)
        assert sum(bases.values()) == invoice.net
