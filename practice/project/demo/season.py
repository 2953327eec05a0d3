"""The demo practice's seasons, day by day, as rows of a book folder.

Calls fall when a place has horses due, more or less punctually; shoes are lost between; today's
round is half done.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta

from factory.random import randgen

from practice.project.demo import goods, people, road, scenario
from practice.project.demo.charges import charges
from practice.project.demo.days import (
    LAST_ARRIVAL,
    LEAVES_HOME,
    DemoStop,
    is_holiday,
    is_round_day,
    on_the_road,
    working_day,
)
from practice.project.demo.factories import VisitRow, restart
from practice.project.demo.feet import keep_feet
from practice.project.demo.paying import deposits, equipment, estimated, expenses, repeating
from practice.project.demo.shoeing import Shoeing
from practice.project.demo.truck import DemoTruck, items, open_order

STOPS_A_DAY = 5
# With so many horses somebody comes along to hold and to pull shoes.
HORSES_FOR_TWO = 7
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
    helped: dict[date, int] = field(default_factory=dict)

    def __post_init__(self):
        self.clients, self.places = people.clients(), people.places()
        self.horses = people.mounts(self.places, self.begin)
        self.truck = DemoTruck(items(), self.begin, self.today)
        self.shoeing = Shoeing(self.rows, self.truck)
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
            if day.weekday() == 6 and not is_holiday(day):
                self.road.errand(day)
            if is_round_day(day) and self.today - day > timedelta(2):
                self.drive(day, self.stops_of(day))
            if day.day == 28:
                self.truck.count_gas(day)
            if day.day == 28 and day.month % 3 == 0:
                self.truck.count(day)
            if day.weekday() == 5 and not is_holiday(day) and randgen.randrange(4) == 0:
                self.truck.waste(day)
            day += timedelta(1)
        self.live_today()
        self.look_ahead()

    def stops_of(self, day: date) -> list[int]:
        lost = [horse.place for on, horse in self.lost if on <= day]
        due = sorted((on, place) for place, on in self.calls.items() if on <= day and place not in lost)
        due = [place for _, place in due if self.ready(day, place)]
        return list(dict.fromkeys(lost + due))[:STOPS_A_DAY]

    def ready(self, day: date, place: int) -> list[people.DemoHorse]:
        return [horse for horse in self.horses if horse.place == place and horse.is_ready(day, TOGETHER)]

    def drive(self, day: date, places: list[int]) -> None:
        """Make a round: a visit at each place that the day has time for, with the miles to reach it."""
        stops = self.work_through(day, road.driving_order(places))
        for place, _ in stops:
            self.plan_call(place)
        if stops:
            self.road.drive_round(day, [(place, stop.visit["ref"]) for place, stop in stops])
        horses = sum(stop.horses for _, stop in stops)
        if horses >= HORSES_FOR_TWO:
            self.helped[day] = horses

    def work_through(self, day: date, places: list[int]) -> list[tuple[int, DemoStop]]:
        """Go from place to place until the day is over; return the stops that were made."""
        here, free, stops = road.HOME, LEAVES_HOME, []
        for place in places:
            arrive = free + on_the_road(road.miles(here, place))
            if stops and arrive > LAST_ARRIVAL:
                break
            stop = DemoStop(self.visit(day, place, len(stops), "done"), arrive)
            self.shoe_lost(stop, day, place)
            self.shoe_due(stop, day, place)
            stops.append((place, stop))
            here, free = place, stop.now
        return stops

    def visit(self, day: date, place: int, number: int, status: str) -> dict:
        row = VisitRow(
            date=day.isoformat(), place=self.places[place]["ref"], status=status, position=str(number + 1)
        )
        self.rows["visits.csv"].append(row)
        return row

    def shoe_due(self, stop: DemoStop, day: date, place: int) -> None:
        for horse in self.ready(day, place):
            if not stop.has_time_for(horse.next_service):
                break
            self.shoe(stop, day, horse)
            if horse.plan not in ("trim", "fronts-glue") and randgen.randrange(14) == 0:
                self.lost.append((day + timedelta(randgen.randrange(6, 26)), horse))

    def shoe_lost(self, stop: DemoStop, day: date, place: int) -> None:
        for on, horse in [entry for entry in self.lost if entry[0] <= day and entry[1].place == place]:
            self.lost.remove((on, horse))
            self.shoeing.nail_on_lost(stop, horse)

    def shoe(self, stop: DemoStop, day: date, horse: people.DemoHorse) -> None:
        self.shoeing.shoe(stop, horse, horse.next_service)
        horse.jobs += 1
        horse.due = day + horse.cycle

    def live_today(self) -> None:
        """Half a round: the first stops are done, one pair of fronts has no shoes written down."""
        if is_holiday(self.today):
            return
        # Its fronts are written down at the last stop, once; a holiday may not be its next due date.
        ownerless = self.horses[people.WITHOUT_OWNER]
        ownerless.due = self.today + ownerless.cycle
        calls = sorted((on, place) for place, on in self.calls.items())
        ready = [place for _, place in calls if self.ready(self.today, place)]
        places = road.driving_order(ready[:STOPS_A_DAY])
        stops = self.work_through(self.today, places[: len(places) // 2 + 1])
        place, stop = stops[-1]
        if not is_holiday(ownerless.due):
            ownerless.move(place, self.places[place]["ref"])
            self.shoeing.shoe(stop, ownerless, "fronts-cold", shoes=False)
        for number, place in enumerate(places[len(stops) :], start=len(stops)):
            self.visit(self.today, place, number, status="planned")
        for place in places:
            self.plan_call(place)
        self.road.drive_round(
            self.today, [(place, stop.visit["ref"]) for place, stop in stops], home_again=False
        )

    def look_ahead(self) -> None:
        for place, on in sorted(self.calls.items(), key=lambda call: (call[1], call[0])):
            on = working_day(max(on, self.today + timedelta(1)))
            if on <= self.today + AHEAD and randgen.randrange(4):
                self.visit(on, place, 0, status="planned")


def make_season(years: int, seed: int, today: date) -> dict[str, list[dict]]:
    """Return the rows of a book of that many years up to today, by file name; one seed, one book."""
    restart(seed)
    begin = today - timedelta(days=365 * years)
    season = Season(begin, today)
    season.live()
    rows = season.rows
    keep_feet(rows, season.horses, today)
    rows["practice.csv"] = [scenario.PRACTICE]
    rows["clients.csv"], rows["places.csv"] = season.clients, season.places
    rows["horses.csv"] = [horse.row for horse in season.horses]
    rows["owners.csv"] = people.owners(season.horses, season.clients, begin, today)
    rows["charges.csv"] = charges(rows, today)
    rows["suppliers.csv"] = [{"ref": "tarn-iron", "name": scenario.SUPPLIER, "lead_time_days": "5"}]
    rows["items.csv"] = list(season.truck.rows.values())
    rows["services.csv"], rows["prices.csv"] = services(begin, today)
    rows["prices.csv"].append(people.school_price(season.places, begin))
    rows["bill_to.csv"] = [people.trainer(season.horses, season.clients, begin, today)]
    rows["tax_rates.csv"] = tax_rates()
    rows["locations.csv"] = [
        {"ref": "truck", "name": "Truck", "vehicle": "truck"},
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
    rows["expenses.csv"] = expenses(begin, today, season.helped)
    rows["repeating_expenses.csv"], rows["equipment.csv"] = repeating(begin, today), equipment(begin)
    rows["estimated_payments.csv"] = estimated(begin, today)
    return dict(rows)


def services(begin: date, today: date) -> tuple[list[dict], list[dict]]:
    """Return services and their prices: one list from the beginning, a dearer one from half-way on."""
    rows, prices = [], []
    rise = begin + (today - begin) / 2
    for ref, name, minutes, resets, new_shoes, nailed, fitted, before, now in goods.SERVICES:
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
