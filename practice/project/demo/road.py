"""The demo practice's miles: legs between home and the stops, odometer readings, errands."""

from datetime import date, timedelta
from decimal import Decimal

from factory.random import randgen

from practice.project.demo import scenario

# Straight line to road: common practice, no source.
DETOUR = Decimal("1.3")
TENTH = Decimal("0.1")
HOME = None
# On every third round the distances were typed; every eleventh day was written down a day late.
TYPED_EVERY, LATE_EVERY = 3, 11


def miles(here: int | None, there: int | None) -> Decimal:
    """Return the miles of road between two places (None: home), at least 0.4, to a tenth."""
    ends = [(0, 0) if at is HOME else scenario.PLACES[at][2:4] for at in (here, there)]
    square = sum((Decimal(a) - Decimal(b)) ** 2 for a, b in zip(*ends, strict=True))
    return max((square.sqrt() * DETOUR).quantize(TENTH), Decimal("0.4"))


def driving_order(stops: list[int]) -> list[int]:
    """Return the places of a day, always on to the nearest one left."""
    left, order, here = list(stops), [], HOME
    while left:
        here = min(left, key=lambda place: (miles(here, place), place))
        left.remove(here)
        order.append(here)
    return order


def name(place: int | None) -> str:
    return "Home" if place is HOME else scenario.PLACES[place][0]


def written(day: date) -> str:
    """Return when a day's drives were written down: that evening, now and then only the next morning."""
    late = day.toordinal() % LATE_EVERY == 0
    return f"{(day + timedelta(late)).isoformat()}T{'06:40' if late else '18:30'}:00+00:00"


class DemoRoad:
    """The odometer as the season goes on. `legs` and `readings` are rows of the book."""

    def __init__(self):
        self.odometer = Decimal("61204.8")
        self.legs, self.readings = [], []

    def drive_round(self, day: date, stops: list[tuple[int, str]], home_again: bool = True) -> None:
        """Write down a day: from home to each stop (its place and the visit's ref) and home again."""
        self.read(day, "start")
        here = HOME
        for place, visit in stops:
            self.leg(day, here, place, visit=visit)
            here = place
        if home_again:
            self.leg(day, here, HOME, reason="drive home")
            self.read(day, "end")

    def read(self, day: date, at: str) -> None:
        self.readings.append(
            {
                "date": day.isoformat(),
                "vehicle": "truck",
                "at": at,
                "reading": str(self.odometer),
                "recorded_at": written(day),
            }
        )

    def leg(self, day: date, here: int | None, there: int | None, visit: str = "", reason: str = "") -> None:
        distance = miles(here, there)
        self.odometer += distance
        self.legs.append(
            {
                "date": day.isoformat(),
                "vehicle": "truck",
                "distance": str(distance),
                "purpose": "business",
                "origin": name(here),
                "destination": name(there),
                "reason": reason,
                "visit": visit,
                "proposed": str(distance) if day.toordinal() % TYPED_EVERY else "",
                "recorded_at": written(day),
            }
        )

    def errand(self, day: date) -> None:
        """Drive a private errand on a Sunday; about one in twelve is never written down."""
        distance = Decimal(randgen.randrange(30, 220)) / 10
        self.odometer += distance
        if randgen.randrange(12):
            self.legs.append(
                {
                    "date": day.isoformat(),
                    "vehicle": "truck",
                    "distance": str(distance),
                    "purpose": "personal",
                    "origin": "Home",
                    "destination": "Ember Ford",
                    "reason": "errands",
                    "recorded_at": written(day),
                }
            )
