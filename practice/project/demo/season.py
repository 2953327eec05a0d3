"""The demo practice's seasons, day by day, as rows of a book folder.

Calls fall when a place has horses due, more or less punctually; shoes are lost between; today's
round is half done.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, time, timedelta
from decimal import Decimal

from factory.random import randgen

from practice.project.demo import people, road, scenario
from practice.project.demo.factories import VisitRow, restart
from practice.project.demo.paying import deposits, equipment, estimated, expenses, repeating
from practice.project.demo.truck import DemoTruck, items, open_order

FORE, HIND = ("LF", "RF"), ("LH", "RH")
# Nails in one shoe: common practice, no source.
NAILS_A_SHOE = Decimal(6)
ROUND_WEEKDAYS = (1, 3, 4)
STOPS_A_DAY = 5
TOGETHER = timedelta(days=9)
AHEAD = timedelta(days=14)


@dataclass
class Season:
    """The rows of the book, by file, and what the simulation carries from day to day."""

    begin: date
    today: date
    rows: dict[str, list[dict]] = field(default_factory=lambda: defaultdict(list))
    calls: dict[int, date] = field(default_factory=dict)
    lost: list[tuple[date, people.DemoHorse]] = field(default_factory=list)

    def __post_init__(self):
        self.clients, self.places = people.clients(), people.places()
        self.horses = people.mounts(self.places, self.begin)
        self.truck = DemoTruck(items(), self.begin, self.today)
        self.road = road.DemoRoad()
        for place in range(len(self.places)):
            self.plan_call(place)

    def plan_call(self, place: int) -> None:
        """Agree on the next call of a place: some days before or after its first horse is due."""
        due = [horse.due for horse in self.horses if horse.place == place]
        if due:
            self.calls[place] = min(due) + timedelta(days=randgen.choice([-4, -2, -1, 0, 0, 1, 2, 4, 8]))

    def live(self) -> None:
        """Go through the days up to today, then plan the days ahead."""
        day = self.begin
        while day < self.today:
            self.truck.review(day)
            if day.weekday() == 6:
                self.road.errand(day)
            if day.weekday() in ROUND_WEEKDAYS and self.today - day > timedelta(2):
                self.drive(day, self.stops_of(day))
            if day.day == 28 and day.month % 3 == 0:
                self.truck.count(day)
            if day.weekday() == 5 and randgen.randrange(4) == 0:
                self.truck.waste(day)
            day += timedelta(1)
        self.live_today()
        self.look_ahead()

    def stops_of(self, day: date) -> list[int]:
        lost = [horse.place for on, horse in self.lost if on <= day]
        due = sorted((on, place) for place, on in self.calls.items() if on <= day and place not in lost)
        return list(dict.fromkeys(lost + [place for _, place in due]))[:STOPS_A_DAY]

    def drive(self, day: date, places: list[int]) -> None:
        """Make a round: a visit at each place, with the miles to reach it."""
        stops = []
        for number, place in enumerate(road.driving_order(places)):
            visit = self.visit(day, place, number, status="done")
            self.shoe_lost(visit, day, place)
            self.shoe_due(visit, day, place)
            stops.append((place, visit["ref"]))
            self.plan_call(place)
        if stops:
            self.road.drive_round(day, stops)

    def visit(self, day: date, place: int, number: int, status: str) -> dict:
        row = VisitRow(
            date=day.isoformat(), place=self.places[place]["ref"], status=status, position=str(number + 1)
        )
        if status == "done":
            row |= {
                "arrive": f"{time(7 + 2 * number, 30):%H:%M}",
                "leave": f"{time(9 + 2 * number, 5):%H:%M}",
            }
        self.rows["visits.csv"].append(row)
        return row

    def shoe_due(self, visit: dict, day: date, place: int) -> None:
        for horse in self.horses:
            if horse.place == place and horse.due <= day + TOGETHER:
                self.do(visit, horse, horse.next_service())
                horse.due = day + horse.cycle
                if horse.plan != "trim" and randgen.randrange(14) == 0:
                    self.lost.append((day + timedelta(randgen.randrange(6, 26)), horse))

    def shoe_lost(self, visit: dict, day: date, place: int) -> None:
        for on, horse in [entry for entry in self.lost if entry[0] <= day and entry[1].place == place]:
            self.lost.remove((on, horse))
            self.work(visit, horse, "lost")
            foot = randgen.choice(FORE)
            self.use(visit, horse, self.shoe(horse, foot), Decimal(1), foot)
            self.use(visit, horse, f"nail-{horse.nail}", NAILS_A_SHOE, foot)

    def do(self, visit: dict, horse: people.DemoHorse, service: str, shoes: bool = True) -> None:
        """Write down a cycle work with the materials that it takes."""
        self.work(visit, horse, service)
        feet = FORE if service.startswith("fronts") else FORE + HIND if service != "trim" else ()
        for foot in feet if shoes and service != "reset" else ():
            self.use(visit, horse, self.shoe(horse, foot), Decimal(1), foot)
        for foot in feet:
            self.use(visit, horse, f"nail-{horse.nail}", NAILS_A_SHOE, foot)
        if horse.pads and service.startswith("fronts"):
            pad = f"pad-leather-{2 if horse.front[1] == '2' else 1}"
            self.use(visit, horse, pad, Decimal(2))
            self.use(visit, horse, "packing", Decimal(1))
        if randgen.randrange(9) == 0:
            self.use(visit, horse, "sealant", Decimal(randgen.choice([20, 30, 40])))
        if randgen.randrange(60) == 0:
            self.find(visit, horse)

    def find(self, visit: dict, horse: people.DemoHorse) -> None:
        self.rows["findings.csv"].append(
            {
                "visit": visit["ref"],
                "horse": horse.ref,
                "foot": "LF",
                "zone": "sole",
                "kind": "red sole",
                "note": "size of a coin, shown to the owner",
                "refer_to_vet": "no",
            }
        )

    def shoe(self, horse: people.DemoHorse, foot: str) -> str:
        pattern, size = horse.front if foot in FORE else horse.hind
        return f"shoe-{pattern}-{'front' if foot in FORE else 'hind'}-{size}"

    def work(self, visit: dict, horse: people.DemoHorse, service: str) -> None:
        self.rows["work.csv"].append({"visit": visit["ref"], "horse": horse.ref, "service": service})

    def use(self, visit: dict, horse: people.DemoHorse, item: str, quantity: Decimal, foot: str = "") -> None:
        self.truck.take(item, quantity)
        self.rows["materials.csv"].append(
            {"visit": visit["ref"], "horse": horse.ref, "item": item, "quantity": str(quantity), "foot": foot}
        )

    def live_today(self) -> None:
        """Half a round: the first stops are done, one pair of fronts has no shoes written down."""
        next_calls = sorted((on, place) for place, on in self.calls.items())[:STOPS_A_DAY]
        places = road.driving_order([place for _, place in next_calls])
        done = places[: len(places) // 2 + 1]
        stops = []
        ownerless = self.horses[people.WITHOUT_OWNER]
        for number, place in enumerate(done):
            visit = self.visit(self.today, place, number, status="done")
            present = [horse for horse in self.horses if horse.place == place]
            due = [horse for horse in present if horse.due <= self.today + TOGETHER] or present[:1]
            for horse in due:
                self.do(visit, horse, horse.next_service())
                horse.due = self.today + horse.cycle
            stops.append((place, visit["ref"]))
        self.do(visit, ownerless, "fronts-cold", shoes=False)
        ownerless.due = self.today + ownerless.cycle
        for number, place in enumerate(places[len(done) :], start=len(done)):
            self.visit(self.today, place, number, status="planned")
        for place in places:
            self.plan_call(place)
        self.road.drive_round(self.today, stops, home_again=False)

    def look_ahead(self) -> None:
        for place, on in sorted(self.calls.items(), key=lambda call: (call[1], call[0])):
            on = max(on, self.today + timedelta(1))
            on += timedelta(days=-on.weekday() % 7 if on.weekday() > 4 else 0)
            if on <= self.today + AHEAD and randgen.randrange(4):
                self.visit(on, place, 0, status="planned")


def make_season(years: int, seed: int, today: date) -> dict[str, list[dict]]:
    """Return the rows of a book of that many years up to today, by file name; one seed, one book."""
    restart(seed)
    begin = today - timedelta(days=365 * years)
    season = Season(begin, today)
    season.live()
    rows = season.rows
    rows["practice.csv"] = [scenario.PRACTICE]
    rows["clients.csv"], rows["places.csv"] = season.clients, season.places
    rows["horses.csv"] = [horse.row for horse in season.horses]
    rows["owners.csv"] = people.owners(season.horses, season.clients, begin, today)
    rows["suppliers.csv"] = [{"ref": "tarn-iron", "name": "Tarn Iron and Nail", "lead_time_days": "5"}]
    rows["items.csv"] = list(season.truck.rows.values())
    rows["services.csv"], rows["prices.csv"] = services(begin, today)
    rows["tax_rates.csv"] = tax_rates()
    rows["locations.csv"] = [
        {"ref": "truck", "name": "DemoTruck", "vehicle": "truck"},
        {"ref": "shop", "name": "Shop"},
    ]
    rows["vehicles.csv"] = [
        {"ref": "truck", "name": "Blue truck", "placed_in_service": f"{begin.year - 2}-03-15"}
    ]
    rows["readings.csv"], rows["legs.csv"] = season.road.readings, season.road.legs
    rows["purchases.csv"], rows["counts.csv"] = season.truck.purchases, season.truck.counts
    rows["stock_facts.csv"] = season.truck.facts
    rows["orders.csv"], rows["order_lines.csv"] = open_order(season.truck)
    rows["payments.csv"] = deposits(season.clients, begin, today)
    rows["expenses.csv"] = expenses(begin, today)
    rows["repeating_expenses.csv"], rows["equipment.csv"] = repeating(begin, today), equipment(begin)
    rows["estimated_payments.csv"] = estimated(begin, today)
    return dict(rows)


def services(begin: date, today: date) -> tuple[list[dict], list[dict]]:
    """Return services and their prices: one list from the beginning, a dearer one from half-way on."""
    rows, prices = [], []
    rise = begin + (today - begin) / 2
    for ref, name, minutes, resets, new_shoes, nailed, fitted, before, now in scenario.SERVICES:
        rows.append(
            {
                "ref": ref,
                "name": name,
                "minutes": str(minutes),
                "resets_cycle": resets,
                "new_shoes": str(new_shoes),
                "feet_nailed": str(nailed),
                "fitted": fitted,
            }
        )
        prices.append({"service": ref, "from": (begin - timedelta(30)).isoformat(), "price": before})
        if now != before:
            prices.append({"service": ref, "from": rise.isoformat(), "price": now})
    return rows, prices


def tax_rates() -> list[dict]:
    return [
        {"name": "State sales tax", "from": "2015-01-01", "rate": "5"},
        {"name": "County sales tax", "from": "2015-01-01", "rate": "1.25", "area": "Tarn"},
        {"name": "County sales tax", "from": "2015-01-01", "rate": "1.5", "area": "Lower Tarn"},
    ]
