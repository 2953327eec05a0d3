"""Seasons drawn at random, with special prices, other payers and round trips, worked out a second time."""

import csv
import random
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

import billing
from billing.actions.invoicing import close_days
from billing.models import Invoice
from billing.reports.year.work import work_in
from practice.lib.periods import tax_year
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from tests.recomputed import year
from tests.recomputed.invoices import expected_invoices

pytestmark = pytest.mark.django_db
RATES = Path(billing.__file__).parent / "data" / "mileage_rates.csv"
BEGIN, END = date(2026, 6, 1), date(2026, 7, 31)
HORSES, PLACES, VEHICLES = ("moss", "juniper", "ash", "elm"), ("barn", "mead"), ("van", "truck")
CLIENTS, SERVICES = ("ann", "ben", "cy", "tess"), ("trim", "reset", "rare")
FIRST_PRICES = [
    {"service": "trim", "from": "2026-01-01", "price": "50"},
    {"service": "reset", "from": "2026-01-01", "price": "110"},
]
FIRST_PAYER = {"horse": "elm", "client": "tess", "from": "2026-06-20"}


def write(folder: Path, name: str, rows: list[dict]) -> None:
    with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
        table = csv.DictWriter(file, list(dict.fromkeys(key for row in rows for key in row)))
        table.writeheader()
        table.writerows(rows)


def one_row_for(column: str, refs, **more) -> list[dict]:
    """Return a row for each ref; `more` gives the other columns, one value for each."""
    rows = zip(refs, *more.values(), strict=True)
    return [dict(zip((column, *more), values, strict=True)) for values in rows]


class Season:
    """Two months of work on four horses, three of them owned, at two places."""

    def __init__(self, seed: int):
        self.draw = random.Random(seed)

    def day(self) -> str:
        return (BEGIN + timedelta(self.draw.randrange(61))).isoformat()

    def number(self, high: int, digits: int) -> str:
        return str(Decimal(self.draw.randrange(high * 10**digits)).scaleb(-digits))

    def write(self, folder: Path, rule: str) -> None:
        practice = {"name": "Garrow", "locale": "en-US", "currency": "USD", "distance_unit": "mi"}
        more = {"country": "US", "invoice_prefix": "GF", "travel_rule": rule, "travel_rate": "0.85"}
        write(folder, "practice", [practice | more])
        billing, exempt = ("per_day", "monthly", "per_day", "monthly"), ("no", "no", "yes", "no")
        clients = one_row_for("ref", CLIENTS, name=CLIENTS, billing=billing, tax_exempt=exempt)
        write(folder, "clients", clients)
        rates = ("", self.draw.choice(["0", "1.15"]))
        write(folder, "places", one_row_for("ref", PLACES, name=PLACES, travel_rate=rates))
        write(folder, "horses", one_row_for("ref", HORSES, name=HORSES))
        owned, owners = ("moss", "juniper", "juniper", "ash"), ("ann", "ben", "cy", "cy")
        write(folder, "owners", one_row_for("horse", owned, client=owners, share=(100, 60, 40, 100)))
        taxable = ("yes", "no", "no")
        write(folder, "services", one_row_for("ref", SERVICES, name=SERVICES, taxable=taxable))
        pad = {"ref": "pad", "name": "pad", "kind": "pad", "unit": "each", "sale_price": "9.50"}
        write(folder, "items", [pad])
        write(folder, "vehicles", one_row_for("ref", VEHICLES, name=VEHICLES))
        write(folder, "tax_rates", [{"name": "State", "from": "2026-01-01", "rate": "5.25"}])
        write(folder, "prices", [*FIRST_PRICES, *(self.price() for _ in range(12))])
        write(folder, "bill_to", [FIRST_PAYER, *(self.payer() for _ in range(6))])
        self.write_visits(folder)

    def price(self) -> dict:
        row = {"from": self.day(), "price": self.number(90, 2)}
        row |= self.draw.choice([{"service": "trim"}, {"service": "reset"}, {"item": "pad"}])
        whose = self.draw.choice([("horse", HORSES), ("client", CLIENTS), ("place", PLACES), None])
        return row | ({whose[0]: self.draw.choice(whose[1])} if whose else {})

    def payer(self) -> dict:
        begin, end = sorted((self.day(), self.day()))
        row = {"horse": self.draw.choice(HORSES[:3]), "client": self.draw.choice(CLIENTS)}
        row |= {"from": self.draw.choice(["", begin]), "to": self.draw.choice(["", end])}
        return row | {"service": self.draw.choice(["", "trim", "reset"])}

    def write_visits(self, folder: Path) -> None:
        draw, work, materials = self.draw, [], []
        visits = [
            {"ref": f"v{number}", "date": self.day(), "place": draw.choice(PLACES), "status": "done"}
            for number in range(40)
        ]
        for number, visit in enumerate(visits):
            for horse in draw.sample(HORSES, draw.randrange(1, 3)):
                of = {"visit": visit["ref"], "horse": horse}
                service = "rare" if number % 12 == 0 else draw.choice(["trim", "reset"])
                price = draw.choice(["", "", "0", self.number(90, 2)])
                work.append(of | {"service": service, "price": price})
                materials += [of | {"item": "pad", "quantity": draw.choice("124")}] * draw.randrange(2)
        legs = []
        for visit in draw.sample(visits, 36):
            leg = {"date": visit["date"], "vehicle": draw.choice(VEHICLES), "visit": visit["ref"]}
            purpose = draw.choice(["business", "commuting"])
            legs.append(leg | {"distance": self.number(30, 1), "purpose": purpose})
        days = sorted({(leg["date"], leg["vehicle"]) for leg in legs})
        for on, vehicle in draw.sample(days, len(days) - 3):
            leg = {"date": on, "vehicle": vehicle, "distance": self.number(40, 1)}
            legs.append(leg | {"purpose": draw.choice(["business", "business", "personal"])})
        for name, rows in {"visits": visits, "work": work, "materials": materials, "legs": legs}.items():
            write(folder, name, rows)


@pytest.mark.parametrize(("seed", "rule"), [(2, "round_trip"), (4, "round_trip"), (3, "per_distance")])
def test_a_season_with_special_prices_other_payers_and_round_trips_stands_up(seed, rule, tmp_path):
    folder, out = tmp_path / "in", tmp_path / "out"
    folder.mkdir()
    Season(seed).write(folder, rule)
    assert import_book(folder).problems == []
    export_book(out)

    done = work_in(tax_year(2026, "US"), "USD").by_service
    held = {row.code for row in close_days(BEGIN, END, END).held}

    assert [(row.service.ref, row.count, row.net) for row in done] == [
        (row["service"], row["count"], row["net"])
        for row in year.work(year.Book(out, 2026, RATES))["work_by_service"]
    ]
    issued = [
        (row.number, row.client.ref, row.issued.isoformat(), int(row.net * 100), int(row.tax * 100))
        for row in Invoice.objects.select_related("client").order_by("pk")
    ]
    assert issued == expected_invoices(out, through=END.isoformat())
    assert {client for _, client, *_ in issued} == set(CLIENTS)
    assert held == {"no_price", "no_owner", "no_reach"}
