"""The year's totals of a whole season are what its files say, in three countries."""

import csv
import json
import random
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation
from pathlib import Path

import pytest
from django.core.management import call_command

import billing
from billing.actions.crediting import issue_credit_note
from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import Expense, Invoice
from billing.reports.sales_tax import sales_tax
from practice.actions.materials import take_materials
from practice.actions.road import log_leg
from practice.lib.periods import tax_year
from practice.lib.profile import Profile
from practice.models import MaterialUse, Vehicle, Visit
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from practice.project.demo.credits import credit_some
from practice.project.demo.paying import payments
from practice.project.demo.season import make_season
from practice.reports.driven import driven_in
from tests.recomputed.invoices import expected_credits, expected_invoices, rows_of
from tests.recomputed.sales_tax import expected_sales_tax
from tests.recomputed.settlements import expected_settlements
from tests.recomputed.year import expected_year

RATES = Path(billing.__file__).parent / "data" / "mileage_rates.csv"
D = Decimal
# seed, the country's practice, the tax years that a season up to the day touches
SEASONS = [
    (1, {"travel_rule": "round_trip", "minimum_call": "110"}, (2025, 2026)),
    (
        2,
        {
            "country": "GB",
            "locale": "en-GB",
            "currency": "GBP",
            "travel_rule": "per_visit",
            "travel_taxable": "yes",
        },
        (2025, 2026),
    ),
    (
        3,
        {
            "country": "AU",
            "locale": "en-AU",
            "currency": "AUD",
            "distance_unit": "km",
            "minimum_call": "95.50",
            "travel_taxable": "yes",
        },
        (2025, 2026),
    ),
]
TODAY = date(2026, 11, 25)


def bring_in(rows: dict[str, list[dict]], folder: Path) -> None:
    """Write rows as a book folder and import it."""
    folder.mkdir()
    for name, table in rows.items():
        header = list(dict.fromkeys(key for row in table for key in row)) or ["ref"]
        with (folder / name).open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, header)
            writer.writeheader()
            writer.writerows(table)
    assert import_book(folder).problems == []


def agree_on_terms(rows: dict[str, list[dict]], seed: int) -> None:
    """Add what is agreed with single clients, and what is charged besides the work, drawn at random.

    Discounts, special prices of services and of an item, people who pay for others, charges above and below
    zero with and without a visit.
    """
    draw = random.Random(seed)
    clients = [row["ref"] for row in rows["clients.csv"]]
    services = sorted({row["service"] for row in rows["work.csv"]})
    done = [row for row in rows["visits.csv"] if row["status"] == "done"]

    def some_day() -> str:
        return draw.choice(done)["date"]

    for row in draw.sample(rows["clients.csv"], 6):
        row["discount"] = draw.choice(["5", "7.5", "12.25"])
    for row in rows["services.csv"]:
        row["taxable"] = draw.choice(["yes", "no"])
    pads = [row["ref"] for row in rows["items.csv"] if row["kind"] == "pad"]
    whose = [("horse", "horses.csv"), ("client", "clients.csv"), ("place", "places.csv")] * 6
    for column, name in whose:
        of = draw.choice([{"service": draw.choice(services)}] * 3 + [{"item": draw.choice(pads)}])
        special = {column: draw.choice(rows[name])["ref"], "from": some_day()}
        rows["prices.csv"].append(of | special | {"price": f"{draw.randrange(2000, 15000) / 100:.2f}"})
    for _ in range(8):
        payer = {"horse": draw.choice(rows["horses.csv"])["ref"], "client": draw.choice(clients)}
        payer |= {"from": some_day(), "service": draw.choice(["", "", *services])}
        rows["bill_to.csv"].append(payer)
    rows["charges.csv"] = [
        {
            "ref": f"charge-{number}",
            "date": visit["date"],
            "client": draw.choice(clients),
            "name": "Charge",
            "quantity": draw.choice(["1", "1.5", "2"]),
            "unit_price": draw.choice(["25", "40", "17.35", "-12.50", "-150"]),
            "taxable": draw.choice(["yes", "no"]),
            "visit": draw.choice([visit["ref"], ""]),
        }
        for number, visit in enumerate(draw.sample(done, 40))
    ]


def fill_a_season(seed: int, practice: dict, folder: Path) -> None:
    rows = make_season(1, seed, TODAY)
    rows["practice.csv"] = [rows["practice.csv"][0] | practice]
    rows["vehicles.csv"].append({"ref": "spare", "name": "Spare car"})
    agree_on_terms(rows, seed)
    bring_in(rows, folder / "season")
    close_days(TODAY - timedelta(400), TODAY - timedelta(1), TODAY)
    issued = Invoice.objects.select_related("client").order_by("issued", "pk")
    bring_in({"payments.csv": payments(issued, TODAY)}, folder / "payments")
    assert {"goodwill", "correction"} <= {note.reason for note in credit_some(TODAY)}
    issue_credit_note(Invoice.objects.outstanding().order_by("issued")[0], TODAY, reason="bad_debt")


def type_late() -> None:
    """A payment, a use, a leg and two costs that nobody wrote down in their time, in the spring.

    And a paid invoice with tax that is credited, half of it and then the rest; and a part of one with a
    discount.
    """
    taxed = Invoice.objects.with_settled().filter(tax__gt=0, issued__year=2026, settled__gt=0).first()
    issue_credit_note(taxed, taxed.issued + timedelta(3), {1: D("7.77")}, reason="goodwill")
    issue_credit_note(taxed, TODAY)
    reduced = Invoice.objects.filter(lines__kind="discount").exclude(pk=taxed.pk).order_by("issued").last()
    issue_credit_note(reduced, TODAY, {1: D("3.33")}, reason="goodwill")
    invoice = Invoice.objects.filter(issued__year=2026).order_by("issued").first()
    record_payment(invoice.client, invoice.issued + timedelta(1), D("33.35"), "cash", tip=D("1.10"))
    visit = Visit.objects.done().filter(date__gte=date(2026, 4, 20), work__isnull=False).order_by("date")[0]
    before = MaterialUse.objects.filter(item__kind="nail").first()
    take_materials(
        visit,
        [
            MaterialUse.objects.create(
                visit=visit, horse=visit.work.first().horse, item=before.item, quantity=D(7)
            )
        ],
    )
    gap = next(gap for row in driven_in(tax_year(2026, "US")) for gap in row.gaps)
    truck = Vehicle.objects.get(ref="truck")
    log_leg(truck, gap.date - timedelta(1), purpose="personal", distance=gap.distance - D("0.1"))
    log_leg(
        Vehicle.objects.get(ref="spare"),
        visit.date,
        purpose="business",
        distance=D("12.3"),
        reason="supplier",
    )
    for vehicle in (Vehicle.objects.get(ref="spare"), None):
        Expense.objects.create(
            date=visit.date, category="vehicle repairs", amount=D("45.10"), vehicle=vehicle
        )


def printed_year(year: int, capsys) -> dict:
    """Return what the command prints, texts of numbers as decimals, without the warnings."""
    capsys.readouterr()
    call_command("year_end", str(year), "--json")
    found = json.loads(capsys.readouterr().out)
    del found["warnings"]
    return as_numbers(found)


def as_numbers(value):
    if isinstance(value, dict):
        return {key: kept(key, part) for key, part in value.items()}
    return [as_numbers(part) for part in value] if isinstance(value, list) else number_or_text(value)


def kept(key: str, value):
    return value if key in ("schedule_c_line", "year") else as_numbers(value)


def number_or_text(value):
    try:
        return D(value) if isinstance(value, str) else value
    except InvalidOperation:
        return value


def check_what_is_billed(folder: Path) -> None:
    """Hold each invoice against the work, and see that the season has everything that can be agreed on."""
    issued = [
        (row["number"], row["client"], row["issued"], *(int(row[c].replace(".", "")) for c in ("net", "tax")))
        for row in rows_of(folder, "invoices.csv")
    ]
    assert issued == expected_invoices(folder, through=str(TODAY - timedelta(1)))
    lines = rows_of(folder, "invoice_lines.csv")
    assert {row["kind"] for row in lines} == {"service", "material", "travel", "charge", "discount"}
    charges = [D(row["net"]) for row in lines if row["kind"] == "charge" and row["code"] != "minimum"]
    assert min(charges) < 0 < max(charges)


def check_what_is_settled(folder: Path) -> None:
    """Hold each credit note against the lines that it names, and each settlement against the payments."""
    credited = [
        (row["number"], row["invoice"], *(row[name] for name in ("net", "tax", "total")))
        for row in rows_of(folder, "credit_notes.csv")
    ]
    assert credited == expected_credits(folder)
    settled = [
        (row["date"], row["payment"], row["invoice"], row["amount"])
        for row in rows_of(folder, "settlements.csv")
    ]
    assert sorted(settled) == expected_settlements(folder)


def taxes_by_rate(year: int, practice: dict):
    """Return what the program says of the year's sales tax as the second reading writes it."""
    taxes = sales_tax(tax_year(year, practice.get("country", "US")), Profile.current())
    amounts = [
        tuple(f"{amount:.2f}" for amount in (part.taxable, part.exempt, part.tax))
        for row in taxes.rows
        for part in (row.invoiced, row.received)
    ]
    keys = [(row.area, row.name, f"{row.rate.normalize():f}") for row in taxes.rows]
    return taxes, [
        (*key, *pair) for key, pair in zip(keys, zip(amounts[::2], amounts[1::2], strict=True), strict=True)
    ]


@pytest.mark.slow
@pytest.mark.django_db
@pytest.mark.parametrize(("seed", "practice", "years"), SEASONS, ids=["US", "GB", "AU"])
def test_the_years_of_a_season_are_what_its_files_say(seed, practice, years, settings, tmp_path, capsys):
    settings.TODAY = TODAY
    fill_a_season(seed, practice, tmp_path)
    seen = []
    for name in ("before", "late"):
        export_book(tmp_path / name)
        if name == "before":
            check_what_is_billed(tmp_path / name)
        check_what_is_settled(tmp_path / name)
        for year in years:
            found = printed_year(year, capsys)
            assert found == expected_year(tmp_path / name, year, RATES)
            taxes, by_rate = taxes_by_rate(year, practice)
            assert by_rate == expected_sales_tax(tmp_path / name, found["from"], found["to"])
            assert (taxes.charged, taxes.collected) == (found["tax_charged"], found["tax_collected"])
            seen.append(found)
        if name == "before":
            type_late()

    early, late = seen[: len(years)], seen[len(years) :]
    changed = {key for old, new in zip(early, late, strict=True) for key in old if old[key] != new[key]}
    assert {"received", "materials", "mileage"} <= changed
