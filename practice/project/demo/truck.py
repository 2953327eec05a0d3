"""What lies on the demo practice's truck: items, the opening count, deliveries and what leaves it."""

from collections import Counter
from datetime import date, timedelta
from decimal import ROUND_CEILING, Decimal

from factory.random import randgen

from practice.project.demo import goods, scenario
from practice.project.demo.days import is_working_day
from practice.project.demo.factories import ItemRow

ON_ORDER = (("shoe-plain-front-1", 2), ("shoe-plain-hind-1", 1), ("nail-slim-5", 1))
# Bought by the box lately, and only when nearly gone.
LEAN = {
    "shoe-plain-front-0",
    "shoe-plain-front-1",
    "shoe-plain-front-2",
    "shoe-plain-hind-0",
    "shoe-toe-clip-front-0",
    "shoe-toe-clip-front-1",
    "shoe-side-clip-hind-1",
    "nail-slim-4",
    "nail-slim-5",
    "packing",
}
REVIEW = timedelta(days=14)
NOT_REORDERED = timedelta(days=100)
GAS = "gas"


def items() -> list[dict]:
    """Return the item rows; sizes stand in the trade's order."""
    rows = []
    for ref, fits, name, pattern, clips, material, sizes, _, price in goods.SHOES:
        rows += [
            ItemRow(
                ref=f"shoe-{ref}-{fits}-{size}",
                name=f"{name}, No {size}",
                kind="shoe",
                pattern=pattern,
                size=size,
                fits=fits,
                pack_size="2" if ref in goods.SOLD_BY_THE_PAIR or size in goods.PAIRS else "10",
                sale_price=price,
                clips=clips,
                material=material,
            )
            for size in sizes
        ]
    for head, sizes, _ in goods.NAILS:
        rows += [
            ItemRow(
                ref=f"nail-{head}-{size}",
                name=f"Nails, {head} No {size}",
                kind="nail",
                pattern=head,
                size=size,
                pack_size="250",
            )
            for size in sizes
        ]
    for ref, name, kind, pattern, size, unit, pack, _, price, taxable in goods.OTHERS:
        rows.append(
            ItemRow(
                ref=ref,
                name=name,
                kind=kind,
                pattern=pattern,
                size=size,
                unit=unit,
                pack_size=pack,
                sale_price=price,
                taxable=taxable,
            )
        )
    return rows


def costs() -> dict[str, Decimal]:
    """Return what one of each item costs at first, by ref."""
    shoes = {
        f"shoe-{ref}-{fits}-{size}": goods.shoe_cost(base, size)
        for ref, fits, *_, sizes, base, _ in goods.SHOES
        for size in sizes
    }
    nails = {f"nail-{head}-{size}": Decimal(cost) for head, sizes, cost in goods.NAILS for size in sizes}
    return shoes | nails | {other[0]: Decimal(other[7]) for other in goods.OTHERS}


class DemoTruck:
    """The shelf as the season goes on. `counts`, `purchases` and `facts` are rows of the book."""

    def __init__(self, rows: list[dict], begin: date, today: date):
        self.begin, self.today = begin, today
        self.rows = {row["ref"]: row for row in rows}
        self.cost = costs()
        self.on_hand, self.used = Counter(), Counter()
        self.counts, self.purchases, self.facts = [], [], []
        self.reviewed, self.feet_heated = begin, 0
        for ref, row in self.rows.items():
            opening = 2 * Decimal(row["pack_size"])
            self.on_hand[ref] = opening
            self.counts.append(
                {
                    "date": (begin - timedelta(1)).isoformat(),
                    "item": ref,
                    "quantity": str(opening),
                    "unit_cost": str(self.cost[ref]),
                    "location": "truck",
                }
            )

    def take(self, ref: str, quantity: Decimal, day: date) -> None:
        """Use something up; what is not there is picked up at the supplier's that morning."""
        if self.on_hand[ref] < quantity:
            self.buy(ref, Decimal(self.rows[ref]["pack_size"]), day)
        self.on_hand[ref] -= quantity
        self.used[ref] += quantity

    def burn(self, feet: int, day: date) -> None:
        """Burn the gas that so many hot-fitted feet take; an empty cylinder is used up."""
        self.feet_heated += feet
        if self.feet_heated >= goods.FEET_A_CYLINDER:
            self.feet_heated -= goods.FEET_A_CYLINDER
            self.take(GAS, Decimal(1), day)

    def review(self, day: date) -> None:
        """Every two weeks order what will not last four more; lately a few sizes were bought by the box."""
        if day - self.reviewed < REVIEW or not is_working_day(day):
            return
        per_review = {ref: self.used[ref] for ref in self.rows}
        for ref, row in self.rows.items():
            pack = Decimal(row["pack_size"])
            if ref in LEAN and self.today - day < NOT_REORDERED:
                if self.on_hand[ref] < per_review[ref] / 2:
                    self.buy(ref, pack, day)
                continue
            if self.on_hand[ref] >= 2 * per_review[ref]:
                continue
            packs = ((4 * per_review[ref] - self.on_hand[ref]) / pack).to_integral_value(ROUND_CEILING)
            self.buy(ref, packs * pack, day)
        self.used.clear()
        self.reviewed = day

    def buy(self, ref: str, quantity: Decimal, day: date) -> None:
        """Take in a delivery; prices creep up by about a tenth of a percent a week."""
        weeks = (day - self.begin).days // 7
        unit_cost = (self.cost[ref] * (1000 + weeks) / 1000).quantize(Decimal("0.0001")).normalize()
        self.on_hand[ref] += quantity
        self.purchases.append(
            {
                "date": day.isoformat(),
                "item": ref,
                "quantity": str(quantity),
                "unit_cost": f"{unit_cost:f}",
                "supplier": "tarn-iron",
                "reference": f"D{day:%y%m%d}",
                "paid_on": min(day + timedelta(12), self.today).isoformat(),
                **self._lot(ref, day),
            }
        )

    def _lot(self, ref: str, day: date) -> dict:
        """What goes off keeps for a year and a half after its delivery."""
        if self.rows[ref]["kind"] not in ("sealant", "adhesive"):
            return {"lot": "", "use_by": ""}
        return {"lot": f"K{day:%y%m}", "use_by": (day + timedelta(540)).isoformat()}

    def waste(self, day: date) -> None:
        """Now and then a shoe is spoiled in the fire."""
        ref = randgen.choice([ref for ref, row in self.rows.items() if row["kind"] == "shoe"])
        if self.on_hand[ref] > 0:
            self.on_hand[ref] -= 1
            self.facts.append(
                {
                    "date": day.isoformat(),
                    "item": ref,
                    "kind": "waste",
                    "quantity": "1",
                    "note": scenario.BURNED,
                }
            )

    def count(self, day: date) -> None:
        """Count ten items of the shelf; a few nails were lost or found."""
        for ref in sorted(self.rows.keys() - {GAS})[:: len(self.rows) // 10]:
            self.on_hand[ref] = max(self.on_hand[ref] + randgen.choice([-2, -1, 0, 0, 0, 1]), Decimal(0))
            self.write_count(ref, day)

    def count_gas(self, day: date) -> None:
        """Count the full cylinders: nobody asks for gas by the horse, so a count says what was burned."""
        self.write_count(GAS, day)

    def write_count(self, ref: str, day: date) -> None:
        quantity = str(self.on_hand[ref])
        self.counts.append({"date": day.isoformat(), "item": ref, "quantity": quantity, "location": "truck"})


def open_order(truck: DemoTruck) -> tuple[list[dict], list[dict]]:
    """Return an order of three days ago that has not come yet, and its lines."""
    day = truck.today - timedelta(3)
    order = {
        "ref": f"O-{day.year}-0001",
        "date": day.isoformat(),
        "supplier": "tarn-iron",
        "note": scenario.ORDER_NOTE,
    }
    lines = [
        {
            "order": order["ref"],
            "item": ref,
            "packs": str(packs),
            "pack_size": truck.rows[ref]["pack_size"],
            "unit_price": f"{truck.cost[ref]:f}",
        }
        for ref, packs in ON_ORDER
    ]
    return [order], lines
