"""What is possible but odd about new rows: an import warns and takes them as they are.

The thresholds are those that pages ask by (`rules/odd.py` of each part).
"""

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from billing.models import CreditNote, Invoice, Payment, Price
from billing.rules.odd import times_owed
from practice.lib.form_fields import YEARS_TO_PLAN
from practice.lib.money import quantum
from practice.lib.names import plain_name
from practice.lib.periods import add_months
from practice.lib.plain import plain
from practice.lib.units import DISTANCE_UNITS
from practice.project.book.checks.common import Checks
from practice.project.book.columns import PRACTICE
from practice.project.book.files_orders import ORDER_LINES
from practice.project.book.odd_amounts import charges, expenses, typed_prices, used_materials
from practice.project.book.odd_rows import far_above, warn
from practice.project.book.reader import FolderRow, Problem
from practice.rules.odd import is_far_on
from stock.models import Movement, MovementKind, OrderLine
from stock.models.item import SINGLY
from stock.rules.odd import over_ordered

# What has happened, and the columns that say when; a visit only where it is done.
HAPPENED = {
    "vehicles.csv": ("placed_in_service",),
    "readings.csv": ("date",),
    "legs.csv": ("date",),
    "odometers.csv": ("date",),
    "orders.csv": ("date",),
    "purchases.csv": ("date", "paid_on"),
    "counts.csv": ("date",),
    "stock_facts.csv": ("date",),
    "invoices.csv": ("issued",),
    "charges.csv": ("date",),
    "life_events.csv": ("date",),
    "credit_notes.csv": ("issued",),
    "payments.csv": ("date",),
    "expenses.csv": ("date",),
    "estimated_payments.csv": ("date",),
    "equipment.csv": ("placed_in_service", "disposed_on"),
    "findings.csv": ("resolved_on",),
}
NAMED = {
    "clients.csv": "client",
    "horses.csv": "horse",
    "places.csv": "place",
    "items.csv": "item",
    "services.csv": "service",
}
WITH_MAIL = (PRACTICE, "clients.csv", "suppliers.csv")
COUNTED = ("purchases.csv", "counts.csv", "stock_facts.csv", "materials.csv")
BORN, LONGEST_CYCLE, HALF = 1970, 52, Decimal("0.5")


def odd_rows(checks: Checks, today: date | None) -> Iterator[Problem]:
    """Yield a warning for each odd value of a new row. Without `today` no day is ahead of it."""
    if today is not None:
        yield from days_ahead(checks, today)
        yield from births(checks, today)
    yield from same_names(checks)
    yield from mail_addresses(checks)
    yield from cycles_and_counts(checks)
    yield from payments_above_owed(checks)
    yield from deliveries(checks)
    yield from prices(checks)
    yield from expenses(checks)
    yield from charges(checks)
    yield from typed_prices(checks)
    yield from used_materials(checks)
    yield from odometers(checks)


def days_ahead(checks: Checks, today: date) -> Iterator[Problem]:
    """What has happened is dated today or before, what is planned up to two years ahead."""
    last = add_months(today, 12 * YEARS_TO_PLAN)
    rows = [(row, name) for file, names in HAPPENED.items() for row in checks.new(file) for name in names]
    visits = checks.new("visits.csv")
    rows += [(row, "date") for row in visits if row["status"] == "done"]
    for row, name in rows:
        if row[name] and row[name] > today:
            yield warn(row, name, f"{row[name]} is after today, {today}")
    planned = [(row, "date") for row in visits if row["status"] == "planned"]
    for row, name in [*planned, *((row, "next_call") for row in checks.new("horses.csv"))]:
        if row[name] and row[name] > last:
            yield warn(row, name, f"{row[name]} is more than two years ahead")


def births(checks: Checks, today: date) -> Iterator[Problem]:
    for row in checks.new("horses.csv"):
        if row["born"] is not None and not BORN <= row["born"] <= today.year:
            yield warn(row, "born", f"{row['born']} is not a year from {BORN} to {today.year}")


def same_names(checks: Checks) -> Iterator[Problem]:
    for file, thing in NAMED.items():
        taken = {plain_name(row.name) for row in checks.lookup.objects[file].values()}
        for row in checks.new(file):
            name = plain_name(row["name"])
            if name in taken:
                yield warn(row, "name", f'another {thing} is named "{row["name"]}" too')
            taken.add(name)


def mail_addresses(checks: Checks) -> Iterator[Problem]:
    for row in (row for file in WITH_MAIL for row in checks.new(file)):
        try:
            validate_email(row["email"] or "ann@example.com")
        except ValidationError:
            yield warn(row, "email", f'"{row["email"]}" is not an email address')


def cycles_and_counts(checks: Checks) -> Iterator[Problem]:
    """Cycles of more than a year, parts of what is counted singly, and work that is not counted in halves."""
    for row in checks.new("horses.csv"):
        if row["cycle_weeks"] > LONGEST_CYCLE:
            yield warn(row, "cycle_weeks", f"{row['cycle_weeks']} weeks is more than a year")
    for row in checks.new("work.csv"):
        if row["quantity"] % HALF:
            yield warn(row, "quantity", f"{row['quantity']:f} is not a multiple of 0.5")
    units = {row.key: row.unit for row in checks.lookup.objects["items.csv"].values()}
    units |= {row["ref"]: row["unit"] for row in checks.new("items.csv")}
    for row in (row for file in COUNTED for row in checks.new(file)):
        if row["quantity"] % 1 and units[row["item"]] == SINGLY:
            yield warn(
                row, "quantity", f"{row['quantity']:f} is not whole, but {row['item']} is counted singly"
            )


def payments_above_owed(checks: Checks) -> Iterator[Problem]:
    """Payments far above what their client owed then: what was billed less what was credited and paid."""
    new = checks.new("payments.csv")
    if not new:
        return
    entries = defaultdict(list)
    for invoice in Invoice.objects.select_related("client"):
        entries[invoice.client.key].append((invoice.issued, 0, invoice.total, None))
    for note in CreditNote.objects.select_related("invoice__client"):
        entries[note.invoice.client.key].append((note.issued, 0, -note.total, None))
    for payment in Payment.objects.select_related("client"):
        entries[payment.client.key].append((payment.date, 1, payment.tip - payment.amount, None))
    for row in checks.new("invoices.csv"):
        entries[row["client"]].append((row["issued"], 0, row["total"], None))
    clients = {row["number"]: row["client"] for row in checks.folder.rows("invoices.csv")}
    for row in checks.new("credit_notes.csv"):
        known = checks.lookup.in_book("invoices.csv", row["invoice"])
        client = known.client.key if known else clients[row["invoice"]]
        entries[client].append((row["issued"], 0, -row["total"], None))
    for row in new:
        entries[row["client"]].append((row["date"], 1, row["tip"] - row["amount"], row))
    for client in dict.fromkeys(row["client"] for row in new):
        owed = Decimal(0)
        for _, _, amount, row in sorted(entries[client], key=lambda entry: entry[:2]):
            times = times_owed(-amount, owed) if row else None
            if times:
                yield warn(row, "amount", f"{row['amount']:f} is {times} times what was owed, {plain(owed)}")
            owed += amount


def deliveries(checks: Checks) -> Iterator[Problem]:
    """Quantities and costs far above the usual of an item, and more than was ordered."""
    new, ordered = standing_purchases(checks), checks.new(ORDER_LINES)
    if not new and not ordered:
        return
    quantities, costs = defaultdict(list), defaultdict(list)
    facts = Movement.objects.filter(kind=MovementKind.RECEIPT, reversal=None).select_related("item")
    for fact in facts:
        quantities[fact.item.key].append(fact.quantity)
        costs[fact.item.key].append(fact.unit_cost)
    for row in new:
        quantities[row["item"]].append(row["quantity"])
        costs[row["item"]].append(row["unit_cost"])
    for row in new:
        yield from far_above(row, "quantity", row["quantity"], quantities[row["item"]])
        yield from far_above(row, "unit_cost", row["unit_cost"], costs[row["item"]])
    for row in ordered:
        units = row["packs"] * row["pack_size"]
        yield from far_above(row, "packs", units, quantities[row["item"]])
        yield from far_above(row, "unit_price", row["unit_price"], costs[row["item"]])
    yield from _over_ordered(checks, new)


def standing_purchases(checks: Checks) -> list[FolderRow]:
    """Return the new deliveries but for those that the folder takes back."""
    undone = Counter(
        (row["reverses_date"] or row["date"], row["item"], row["quantity"], row["location"])
        for row in checks.new("stock_facts.csv")
        if row["reverses"] == MovementKind.RECEIPT
    )
    standing = []
    for row in checks.new("purchases.csv"):
        fact = row["date"], row["item"], row["quantity"], row["location"]
        if undone[fact]:
            undone[fact] -= 1
        else:
            standing.append(row)
    return standing


def _over_ordered(checks: Checks, new: list[FolderRow]) -> Iterator[Problem]:
    if not any(row["order"] for row in new):
        return
    to_come = {
        (line.order.key, line.item.key): line.to_come
        for line in OrderLine.objects.with_received().select_related("order", "item")
    }
    for row in checks.new(ORDER_LINES):
        to_come[row["order"], row["item"]] = row["packs"] * row["pack_size"] - row["cancelled"]
    for row in new:
        line = row["order"], row["item"]
        if line in to_come:
            if over := over_ordered(row["quantity"], to_come[line]):
                yield warn(row, "quantity", f"that is {plain(over)} more than was still to come of the order")
            to_come[line] -= row["quantity"]


def prices(checks: Checks) -> Iterator[Problem]:
    """Prices far above the usual of their service or item, and more decimals than a service is billed in."""
    new = checks.new("prices.csv")
    if not new:
        return
    known = defaultdict(list)
    for price in Price.objects.select_related("service", "item"):
        known[price.service and price.service.key, price.item and price.item.key].append(price.price)
    for row in new:
        known[row["service"], row["item"]].append(row["price"])
    for row in new:
        yield from far_above(row, "price", row["price"], known[row["service"], row["item"]])
        if row["service"] and row["price"] % quantum(checks.folder.currency):
            yield warn(row, "price", f"{row['price']:f} has more decimals than {checks.folder.currency}")


def odometers(checks: Checks) -> Iterator[Problem]:
    """Odometers far on since they were last read, and drives as long."""
    practice = checks.folder.rows(PRACTICE)
    unit = DISTANCE_UNITS[practice[0]["distance_unit"]] if practice else checks.profile.unit
    points: dict[str, list[tuple]] = defaultdict(list)
    for row in checks.new("readings.csv"):
        points[row["vehicle"]].append((row["date"], 3 * (row["at"] == "end"), row["reading"], row, "reading"))
    for row in checks.new("legs.csv"):
        for name in ("start_odometer", "end_odometer"):
            points[row["vehicle"]].append((row["date"], 1, row[name], row, name))
        if row["distance"] > unit.far:
            yield warn(
                row, "distance", f"{row['distance']:f} is a drive of more than {unit.far:f} {unit.name}"
            )
    for row in checks.new("odometers.csv"):
        points[row["vehicle"]].append((row["date"], 2, row["last"], row, "last"))
        points[row["vehicle"]].append((row["date"], 2, row["first"], None, ""))
    for vehicle, rows in points.items():
        yield from _far_on(rows + _points_in_book(checks, vehicle), unit.far, unit.name)


def _far_on(points: list[tuple], far: Decimal, unit: str) -> Iterator[Problem]:
    last = None
    for _, _, reading, row, column in sorted(points, key=lambda point: point[:2]):
        if row and is_far_on(reading, last, far):
            yield warn(
                row,
                column,
                f"{reading:f} is {plain(reading - last)} {unit} on since the last reading, {plain(last)}",
            )
        last = last if reading is None else reading


def _points_in_book(checks: Checks, vehicle: str) -> list[tuple]:
    known = checks.lookup.in_book("vehicles.csv", vehicle)
    if known is None:
        return []
    points = [(row.date, 3 * (row.at == "end"), row.reading, None, "") for row in known.readings.all()]
    for leg in known.legs.with_odometer():
        points += [(leg.date, 1, leg.start_odometer, None, ""), (leg.date, 1, leg.end_odometer, None, "")]
    for change in known.odometer_changes.all():
        points += [(change.date, 2, change.last, None, ""), (change.date, 2, change.first, None, "")]
    return points
