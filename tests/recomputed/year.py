"""The totals of a tax year, worked out a second time from the book's CSV files alone.

Plain decimals and nothing of the program: a second reading of the rules. Mileage rates come from the
file of published rates. It knows books whose only late reversals are of receipts, uses and counts.
"""

import csv
from collections import defaultdict
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

D, CENT, ZERO = Decimal, Decimal("0.01"), Decimal(0)
FIRST_DAY = {"GB": (4, 6), "AU": (7, 1)}
JURISDICTION = {"US": "US", "GB": "UK-car-van", "AU": "AU"}
SCHEDULE_C = {
    "advertising": "8",
    "commissions": "10",
    "contract labor": "11",
    "insurance": "15",
    "interest": "16b",
    "legal and professional": "17",
    "office": "18",
    "rent": "20b",
    "repairs and maintenance": "21",
    "supplies": "22",
    "tools and equipment": "22 ask: may be depreciated",
    "taxes and licenses": "23",
    "travel": "24a",
    "meals": "24b",
    "utilities": "25",
    "education": "Part V",
    "card fees": "Part V",
    "vehicle fuel": "9 actual method only",
    "vehicle repairs": "9 actual method only",
    "vehicle insurance": "9 actual method only",
    "vehicle registration": "9 actual method only",
    "vehicle lease": "20a actual method only",
    "parking and tolls": "9",
    "other": "Part V",
}
VEHICLE = ("fuel", "repairs", "insurance", "registration", "lease")


def rows_of(folder: Path, name: str) -> list[dict[str, str]]:
    path = folder / f"{name}.csv"
    if not path.exists():
        return []
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def to_cents(amount: Decimal) -> Decimal:
    return amount.quantize(CENT, ROUND_HALF_UP) + 0


def added(rows, column: str) -> Decimal:
    return sum((D(row[column] or 0) for row in rows), ZERO)


class Book:
    """A book's files, and the days of one tax year: `begin` and `end` as text, `months` as twelve spans."""

    def __init__(self, folder: Path, year: int, rates: Path):
        self.folder, self.year = folder, year
        self.practice = rows_of(folder, "practice")[0]
        self.country = self.practice["country"]
        self.rates = [
            row
            for row in rows_of(rates.parent, rates.stem)
            if row["jurisdiction"] == JURISDICTION[self.country]
        ]
        month, day = FIRST_DAY.get(self.country, (1, 1))
        begins = [date(year + (month - 1 + n) // 12, (month - 1 + n) % 12 + 1, day) for n in range(13)]
        self.months = [(str(begins[n]), str(begins[n + 1] - timedelta(days=1))) for n in range(12)]
        self.begin, self.end = self.months[0][0], self.months[11][1]

    def __getattr__(self, name: str) -> list[dict[str, str]]:
        """Return the rows of a file, read once: `book.payments`."""
        rows = rows_of(self.folder, name)
        setattr(self, name, rows)
        return rows

    def within(self, rows, column: str = "date") -> list[dict[str, str]]:
        return [row for row in rows if self.begin <= row[column] <= self.end]

    def by_month(self, rows, amount: str, column: str = "date") -> list[Decimal]:
        return [added([r for r in rows if begin <= r[column] <= end], amount) for begin, end in self.months]


def expected_year(folder: Path, year: int, rates: Path) -> dict:
    """Return the totals under the contract's keys, numbers as decimals, without the warnings."""
    book = Book(folder, year, rates)
    payments, invoices = book.within(book.payments), book.within(book.invoices, "issued")
    notes = book.within(book.credit_notes, "issued")
    by_month = zip(
        book.by_month(book.invoices, "total", "issued"),
        book.by_month(book.credit_notes, "total", "issued"),
        strict=True,
    )
    collected = tax_collected(book)
    received = added(payments, "amount")
    return {
        "year": year,
        "from": book.begin,
        "to": book.end,
        "currency": book.practice["currency"],
        "received": {
            "total": received,
            "net_of_tax": received - collected,
            "refunds": -added([row for row in payments if D(row["amount"]) < 0], "amount"),
            "tips": added(payments, "tip"),
            "by_month": book.by_month(book.payments, "amount"),
        },
        "invoiced": {
            "net": added(invoices, "net") - added(notes, "net"),
            "tax": added(invoices, "tax") - added(notes, "tax"),
            "total": added(invoices, "total") - added(notes, "total"),
            "by_month": [billed - credited for billed, credited in by_month],
        },
        **accounts(book),
        "tax_charged": added(invoices, "tax") - added(notes, "tax"),
        "tax_collected": collected,
        "materials": materials(book),
        "expenses": expenses(book),
        "mileage": mileage(book),
        **work(book),
    }


def tax_collected(book: Book) -> Decimal:
    """The tax in what is settled by the year's end, less that by the day before it began."""
    invoices = {row["number"]: row for row in book.invoices}
    by_invoice, credited = defaultdict(list), defaultdict(list)
    for row in book.settlements:
        by_invoice[row["invoice"]].append(row)
    for row in book.credit_notes:
        credited[row["invoice"]].append(row)

    def in_it(number: str, last: str) -> Decimal:
        notes = [row for row in credited[number] if row["issued"] <= last]
        tax = D(invoices[number]["tax"]) - added(notes, "tax")
        total = D(invoices[number]["total"]) - added(notes, "total")
        settled = added([row for row in by_invoice[number] if row["date"] <= last], "amount")
        return to_cents(tax * settled / total) if total else ZERO

    day_before = str(date.fromisoformat(book.begin) - timedelta(days=1))
    return sum((in_it(number, book.end) - in_it(number, day_before) for number in by_invoice), ZERO)


def accounts(book: Book) -> dict:
    billed = added([row for row in book.invoices if row["issued"] <= book.end], "total")
    billed -= added([row for row in book.credit_notes if row["issued"] <= book.end], "total")
    settled = added([row for row in book.settlements if row["date"] <= book.end], "amount")
    paid = [row for row in book.payments if row["date"] <= book.end]
    return {
        "receivable_at_year_end": billed - settled,
        "credits_at_year_end": added(paid, "amount") - added(paid, "tip") - settled,
    }


def materials(book: Book) -> dict:
    before, at_end, first = {}, {}, {}
    sums = defaultdict(Decimal)
    for row in book.stock_movements:
        item, kind, cost = row["item"], row["kind"], D(row["cost"])
        if item not in first:
            first[item] = row["date"] if kind == "count" else ""
        if row["date"] < book.begin:
            before[item] = D(row["value"])
        if row["date"] <= book.end:
            at_end[item] = D(row["value"])
        if book.begin <= row["date"] <= book.end:
            if kind == "count" and row["date"] == first[item]:
                kind = "opening"
            elif kind == "return":
                kind = "from a visit" if D(row["quantity"]) > 0 else "to a supplier"
            sums[kind] += cost
    block = {
        "opening_value": to_cents(sum(before.values(), ZERO) + sums["opening"]),
        "purchased": to_cents(sums["receipt"] + sums["to a supplier"]),
        "withdrawn": to_cents(-sums["withdrawal"]),
        "count_adjustments": to_cents(sums["count"]),
        "closing_value": to_cents(sum(at_end.values(), ZERO)),
    }
    plus, minus = ("opening_value", "purchased", "count_adjustments"), ("withdrawn", "closing_value")
    used = sum(block[key] for key in plus) - sum(block[key] for key in minus)
    return block | {"used": used}


def expenses(book: Book) -> list[dict]:
    rows = book.within(book.expenses)
    return [
        {
            "category": category,
            "amount": added([row for row in rows if row["category"] == category], "amount"),
            "schedule_c_line": line if book.country == "US" else "",
        }
        for category, line in SCHEDULE_C.items()
        if any(row["category"] == category for row in rows)
    ]


def mileage(book: Book) -> dict:
    spent = book.within(book.expenses)
    costs = [row for row in spent if row["category"] in [f"vehicle {what}" for what in VEHICLE]]
    legs_of = {v["ref"]: [row for row in book.legs if row["vehicle"] == v["ref"]] for v in book.vehicles}
    read_of = {v["ref"]: [row for row in book.readings if row["vehicle"] == v["ref"]] for v in book.vehicles}
    in_use = [ref for ref in legs_of if book.within(legs_of[ref]) or book.within(read_of[ref])]
    if len(in_use) == 1:
        costs = [row | {"vehicle": row["vehicle"] or in_use[0]} for row in costs]
    vehicles = []
    for ref, legs in legs_of.items():
        own = [row for row in costs if row["vehicle"] == ref]
        if ref not in in_use and not own:
            continue
        driven = {
            purpose: added([row for row in book.within(legs) if row["purpose"] == purpose], "distance")
            for purpose in ("business", "commuting", "personal")
        }
        row = {"vehicle": ref} | driven | odometer(book, legs, read_of[ref]) | {"costs": added(own, "amount")}
        far = sum(driven.values()) + (row["unlogged"] or 0)
        row["business_share"] = (
            (driven["business"] / far).quantize(D("0.000001"), ROUND_HALF_UP) if far else ZERO
        )
        row["actual"] = to_cents(row["costs"] * driven["business"] / far) if far else ZERO
        vehicles.append(row)
    sums = {key: added(vehicles, key) for key in ("business", "commuting", "personal", "unlogged")}
    total = sum(sums.values())
    rows = standard(book)
    share = (sums["business"] / total).quantize(D("0.000001"), ROUND_HALF_UP) if total else ZERO
    return {
        "unit": book.practice["distance_unit"],
        **sums,
        "total": total,
        "vehicles": vehicles,
        "standard": rows,
        "standard_total": sum((row["amount"] for row in rows), ZERO),
        "parking_and_tolls": added(
            [row for row in spent if row["category"] == "parking and tolls"], "amount"
        ),
        "actual": {
            "costs": added(vehicles, "costs"),
            "business_share": share,
            "amount": added(vehicles, "actual"),
        },
    }


def odometer(book: Book, legs: list[dict], readings: list[dict]) -> dict:
    """Follow the odometer day by day; legs have no readings of their own in these books."""
    points, unlogged, last, driven = [], ZERO, None, ZERO
    events = [(row["date"], {"start": 0, "end": 2}[row["at"]], D(row["reading"])) for row in readings]
    events += [(row["date"], 1, D(row["distance"])) for row in legs]
    for day, order, number in sorted(events, key=lambda event: event[:2]):
        if order == 1:
            driven += number
            continue
        if last is not None and book.begin <= day <= book.end:
            unlogged += number - last - driven
        points.append((day, number))
        last, driven = number, ZERO
    before = [number for day, number in points if day < book.begin]
    inside = [number for day, number in points if book.begin <= day <= book.end]
    return {
        "first_odometer": (before[-1:] or inside[:1] or [None])[0],
        "last_odometer": (inside[-1:] or [None])[0],
        "unlogged": unlogged if inside and len(before + inside) > 1 else None,
    }


def rates_on(book: Book, day: str) -> tuple:
    """Return (first day, tier, rate, carried) of each tier's rate on a day."""
    found = []
    for tier in sorted({row["tier_from_distance"] for row in book.rates}, key=D):
        known = [r for r in book.rates if r["tier_from_distance"] == tier and r["valid_from"] <= day]
        if known:
            row = max(known, key=lambda row: row["valid_from"])
            found.append((row["valid_from"], D(tier), D(row["rate"]), "" < row["valid_to"] < day))
    return tuple(found)


def standard(book: Book) -> list[dict]:
    """Go through the year day by day; a new row begins where another rate holds."""
    spans, day = [], date.fromisoformat(book.begin)
    while str(day) <= book.end:
        rates = rates_on(book, str(day))
        if not spans or spans[-1][0] != rates:
            spans.append((rates, str(day), str(day)))
        spans[-1] = (*spans[-1][:2], str(day))
        day += timedelta(days=1)
    business = [row for row in book.within(book.legs) if row["purpose"] == "business"]
    pools = {"": business}
    if book.country == "AU":
        first_days = sorted({(row["date"], row["vehicle"]) for row in business})
        order = [v["ref"] for v in book.vehicles if v["ref"] in {vehicle for _, vehicle in first_days}]
        pools = {ref: [row for row in business if row["vehicle"] == ref] for ref in order}
    so_far, rows = dict.fromkeys(pools, ZERO), []
    for rates, begin, end in spans:
        for vehicle, legs in pools.items():
            low = so_far[vehicle]
            high = low + added([row for row in legs if begin <= row["date"] <= end], "distance")
            so_far[vehicle] = high
            tops = [tier for _, tier, _, _ in rates[1:]] + [D("Infinity")]
            for (_, tier, rate, carried), top in zip(rates, tops, strict=True):
                distance = max(min(high, top) - max(low, tier), ZERO)
                row = {"from": begin, "to": end, "tier_from": tier, "distance": distance, "rate": rate}
                row |= {"amount": to_cents(distance * rate), "carried": carried}
                rows.append(row | ({"vehicle": vehicle} if book.country == "AU" else {}))
    return rows


def work(book: Book) -> dict:
    visits = {row["ref"]: row["date"] for row in book.within(book.visits) if row["status"] == "done"}
    done = [row for row in book.work if row["visit"] in visits]
    by_service = []
    for service in book.services:
        rows = [row for row in done if row["service"] == service["ref"]]
        net = sum((net_of(book, row, visits[row["visit"]]) for row in rows), ZERO)
        if rows:
            by_service.append({"service": service["ref"], "count": added(rows, "quantity"), "net": net})
    return {
        "visits": len(visits),
        "horses_seen": len({row["horse"] for row in done}),
        "work_by_service": by_service,
    }


def net_of(book: Book, row: dict[str, str], day: str) -> Decimal:
    price = row["price"] or listed(book, row, day) or "0"
    return to_cents(D(price) * D(row["quantity"]))


def listed(book: Book, row: dict[str, str], day: str) -> str | None:
    """Return the price that the list has for a row of work: a special one before the general one."""
    service, horse = row["service"], row["horse"]
    place = next(visit["place"] for visit in book.visits if visit["ref"] == row["visit"])
    owners, others = (
        [row for row in rows if row["horse"] == horse and (row["from"] or "0") <= day <= (row["to"] or "9")]
        for rows in (book.owners, book.bill_to)
    )
    paying = {row["client"] for row in owners}
    instead = [row for row in others if row["service"] in ("", service)]
    if instead:
        closer = [row for row in instead if row["service"]] or instead
        paying = {latest(closer)["client"]}
    dated = [p for p in book.prices if p["service"] == service and p["from"] <= day]
    for name, wanted in (("horse", {horse}), ("client", paying), ("place", {place})):
        special = [p for p in dated if p.get(name) and {p[name]} == wanted]
        if special:
            return latest(special)["price"]
    general = [p for p in dated if not (p.get("horse") or p.get("client") or p.get("place"))]
    return latest(general)["price"] if general else None


def latest(rows: list[dict[str, str]]) -> dict[str, str]:
    """Return the row with the latest `from`, of several the one entered last."""
    return max(enumerate(rows), key=lambda entry: (entry[1]["from"], entry[0]))[1]
