"""When the demo practice works, and how long its stops take."""

from dataclasses import dataclass
from datetime import date, time, timedelta
from decimal import Decimal

from factory.random import randgen

from practice.project.demo import goods

ROUND_WEEKDAYS = (1, 3, 4)
# Minutes after midnight: leaves home, reaches the last stop by, begins no other horse that ends after.
LEAVES_HOME, LAST_ARRIVAL, QUITS = 7 * 60, 15 * 60 + 30, 17 * 60 + 30
# A truck on county roads; common practice, no source.
MINUTES_A_MILE = 2


def is_holiday(day: date) -> bool:
    """Whether nobody works or is called on: Christmas Day."""
    return (day.month, day.day) == (12, 25)


def is_working_day(day: date) -> bool:
    return day.weekday() < 5 and not is_holiday(day)


def working_day(day: date) -> date:
    """Return the day itself or the first working day after it."""
    while not is_working_day(day):
        day += timedelta(1)
    return day


def is_round_day(day: date) -> bool:
    return day.weekday() in ROUND_WEEKDAYS and not is_holiday(day)


def on_the_road(miles: Decimal) -> int:
    """Return the minutes of a drive, at least 3."""
    return max(int(miles * MINUTES_A_MILE), 3)


@dataclass
class DemoStop:
    """A stop: the row of its visit, and the minutes after midnight at which it began and stands now."""

    visit: dict
    arrived: int
    now: int = 0
    horses: int = 0

    def __post_init__(self):
        self.visit["arrive"] = _clock(self.arrived)
        self.spend(randgen.randint(4, 9))

    def spend(self, minutes: int) -> None:
        self.now = max(self.now, self.arrived) + minutes
        self.visit["leave"] = _clock(self.now)

    def work(self, service: str) -> None:
        """Let the minutes of a service pass, a tenth more or less."""
        self.spend(round(goods.MINUTES[service] * randgen.randint(90, 110) / 100))
        self.horses += 1

    def has_time_for(self, service: str) -> bool:
        """Whether another horse is finished in time; the first one always is."""
        return not self.horses or self.now + goods.MINUTES[service] <= QUITS


def _clock(minutes: int) -> str:
    return f"{time(minutes // 60, minutes % 60):%H:%M}"
