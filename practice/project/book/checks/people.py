"""Rules of the practice, its people, its prices, and what it has."""

from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal

from billing.models import Equipment, Expense, Invoice, Payment, Price, RepeatingExpense
from practice.lib.profile import Profile
from practice.models import Leg, LifeEvent, MaterialUse, Owner, Reading
from practice.project.book.checks.common import Checks
from practice.project.book.columns import PRACTICE
from practice.project.book.files_life import LIFE
from practice.project.book.reader import FolderRow
from stock.models import Movement, OrderLine


def check_practice(checks: Checks) -> None:
    for row, before in checks.sorted[PRACTICE].changed if PRACTICE in checks.sorted else ():
        if row["currency"] != before.currency and currency_is_used():
            checks.complain(
                row, "currency", f"the book already uses {before.currency}; this cannot be changed"
            )
        if row["distance_unit"] != before.distance_unit and Leg.objects.exists() | Reading.objects.exists():
            message = f"the book already uses {before.distance_unit}; this cannot be changed"
            checks.complain(row, "distance_unit", message)
        _check_method(checks, row, before)


def currency_is_used() -> bool:
    of_money = (Price, Invoice, Payment, Expense, RepeatingExpense, Equipment)
    return any(model.objects.exists() for model in (*of_money, Movement, OrderLine))


def _check_method(checks: Checks, row: FolderRow, before: Profile) -> None:
    """What was costed in closed days stays: another method begins on a later day."""
    through = before.closed_through
    other = "valuation" in row.given and row["valuation"] != before.valuation
    if other and through and Movement.objects.filter(date__lte=through).exists():
        message = (
            f"days up to {through.isoformat()} are closed and were costed by {before.valuation};"
            " use valuations.csv to change the method from a later day on"
        )
        checks.complain(row, "valuation", message)


def check_owners(checks: Checks) -> None:
    """The shares of a horse's owners add up to 100 on every day it has any."""
    shares = defaultdict(list)
    for row in checks.new("owners.csv"):
        if checks.must_end_after_it_begins(row) and row["share"] is not None:
            begin, end = row["from"] or date.min, row["to"] or date.max
            shares[row["horse"]].append((begin, end, row["share"], row))
    if not shares:
        return
    for owner in Owner.objects.select_related("horse"):
        if owner.horse.key in shares:
            period = (owner.valid_from or date.min, owner.valid_to or date.max)
            shares[owner.horse.key].append((*period, owner.share, None))
    for horse, periods in shares.items():
        _check_shares(checks, horse, periods)


def _check_shares(checks: Checks, horse: str, periods: list) -> None:
    turns = {begin for begin, *_ in periods}
    turns |= {end + timedelta(days=1) for _, end, *_ in periods if end < date.max}
    for day in sorted(turns):
        in_force = [period for period in periods if period[0] <= day <= period[1]]
        total = sum((share for _, _, share, _ in in_force), Decimal(0))
        if in_force and total != 100:
            rows = [row for *_, row in in_force if row] or [row for *_, row in periods if row]
            since = "" if day == date.min else f" from {day.isoformat()}"
            message = f"the shares of {horse} add up to {total:f}{since}, not 100"
            checks.complain(rows[-1], "share", message)
            return


def check_prices_and_rates(checks: Checks) -> None:
    for row in checks.new("prices.csv"):
        if bool(row["service"]) == bool(row["item"]):
            checks.complain(row, "service", "give either a service or an item")
        named = [name for name in ("horse", "client", "place") if row[name]]
        if len(named) > 1:
            checks.complain(row, named[1], "a special price is for a horse, a client, or a place: give one")
    for row in checks.new("tax_rates.csv") + checks.new("mileage_rates.csv") + checks.new("bill_to.csv"):
        checks.must_end_after_it_begins(row)
    for row in checks.new("tax_rates.csv"):
        if ";" in row["name"] or ";" in row["area"]:
            checks.complain(row, "name", "the name and area of a tax cannot contain a semicolon")


def check_payers(checks: Checks) -> None:
    """Who pays on days that are closed for good stays."""
    through = checks.profile.closed_through
    for row in checks.new("bill_to.csv"):
        if through and (row["from"] or date.min) <= through:
            message = f"the book is closed through {through.isoformat()}: give a later day to begin on"
            checks.complain(row, "from", message)


def check_life_events(checks: Checks) -> None:
    """Who left is a client; everything else became of a horse."""
    for row in checks.new(LIFE):
        has_left = row["kind"] == LifeEvent.Kind.LEFT
        about = "client" if has_left else "horse"
        if row["kind"] and not row[about]:
            checks.complain(row, about, f'is required for the kind "{row["kind"]}"')
        if has_left and row["horse"]:
            checks.complain(row, "horse", f'must be blank for the kind "{row["kind"]}"')


def check_items(checks: Checks) -> None:
    for row, before in checks.sorted["items.csv"].changed if "items.csv" in checks.sorted else ():
        used = (
            Movement.objects.filter(item=before).exists()
            or MaterialUse.objects.filter(item=before).exists()
            or OrderLine.objects.filter(item=before).exists()
        )
        if row["unit"] != before.unit and used:
            checks.complain(
                row,
                "unit",
                f"{before} is counted in {before.unit}; this cannot be changed once it has been used",
            )


def check_locations(checks: Checks) -> None:
    taken = {}
    for row in checks.folder.rows("locations.csv"):
        if row["vehicle"] and taken.setdefault(row["vehicle"], row) is not row:
            checks.complain(row, "vehicle", f'"{row["vehicle"]}" already is another location')
    for row in checks.new("locations.csv"):
        vehicle = checks.lookup.in_book("vehicles.csv", row["vehicle"])
        if vehicle is not None and vehicle.location_id:
            checks.complain(row, "vehicle", f'"{row["vehicle"]}" already is another location')
