"""How long the work on a horse takes: learned from times that were taken, usual until then. Pure."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from decimal import Decimal
from enum import Enum
from statistics import median_low

from practice.rules.horse_work import FEET, ServiceFacts

# Minutes a foot: shod hot on a quiet horse, and trimmed (common practice, no source). A shoe that is fitted
# cold or put back has no figure of its own: the one for a hot-fitted shoe stands for it.
SHOD, TRIMMED = 20, 8
# A form that was open for less was filled in afterwards; one that was open for longer was left open.
SHORTEST, LONGEST = timedelta(minutes=3), timedelta(hours=4)
# What is learned is the median of so many of the last times, once there are enough of them: of the horse
# itself, else of all horses that got the same.
OF_HORSE, HORSE_NEEDS = 5, 3
OF_PRACTICE, PRACTICE_NEEDS = 25, 3
# The minutes of a day.
DAY = 24 * 60


class TimeBasis(Enum):
    """What planned minutes rest on."""

    OWN = "from the minutes set for the services"
    HORSE = "from the last times on this horse"
    PRACTICE = "from the last times this was done"
    USUAL = "20 minutes for each foot shod, 8 for each foot trimmed, until times are known"


@dataclass(frozen=True)
class PlannedMinutes:
    minutes: int
    basis: TimeBasis


@dataclass(frozen=True)
class TimedService:
    """A service with its own minutes for a horse; None where the practice gave it none."""

    facts: ServiceFacts
    minutes: int | None = None


def time_spent(
    finished: datetime, spent: timedelta, not_before: Collection[time] = ()
) -> tuple[time, time] | None:
    """Return from when to when, to the minute, a form was open until it was saved; None if that is no time.

    Nobody began before any of `not_before`: before we came there, or before the last horse was finished.
    """
    if not SHORTEST <= spent <= LONGEST:
        return None
    end = finished.replace(second=0, microsecond=0)
    begun = (finished - spent).replace(second=0, microsecond=0)
    if begun.date() != end.date():
        return None
    first = max([begun.time(), *not_before])
    is_time = timedelta(minutes=minutes_between(first, end.time())) >= SHORTEST
    return (first, end.time()) if is_time else None


def minutes_between(first: time, last: time) -> int:
    """Return the minutes from one time of a day to another, below zero where that is earlier."""
    return (last.hour - first.hour) * 60 + last.minute - first.minute


def minutes_by_feet(services: Collection[ServiceFacts]) -> int | None:
    """Return the usual minutes of what is done to the feet; None where nothing is.

    A shoeing or a trim of the whole horse trims the feet that get no shoe.
    """
    shod = min(sum(row.nailed for row in services), len(FEET))
    trimmed = len(FEET) - shod if any(row.resets_cycle for row in services) else 0
    return SHOD * shod + TRIMMED * trimmed or None


def planned_minutes(
    services: Sequence[TimedService], own: Sequence[int] = (), pooled: Sequence[int] = ()
) -> PlannedMinutes | None:
    """Return how long these services on a horse will take; None where nothing says so.

    `own` and `pooled` are the minutes that just these took before, the latest first: on this horse, and on
    all horses. The services' own minutes win; what has none beside them takes its usual minutes.
    """
    known = [row.minutes for row in services if row.minutes is not None]
    if known:
        others = minutes_by_feet([row.facts for row in services if row.minutes is None])
        return PlannedMinutes(sum(known) + (others or 0), TimeBasis.OWN)
    if len(own) >= HORSE_NEEDS:
        return PlannedMinutes(median_low(own[:OF_HORSE]), TimeBasis.HORSE)
    if len(pooled) >= PRACTICE_NEEDS:
        return PlannedMinutes(median_low(pooled[:OF_PRACTICE]), TimeBasis.PRACTICE)
    usual = minutes_by_feet([row.facts for row in services])
    return PlannedMinutes(usual, TimeBasis.USUAL) if usual else None


def driving_minutes(distance: Decimal, an_hour: Decimal) -> int:
    """Return the whole minutes of a drive at so many miles or kilometers an hour."""
    return int((distance * 60 / an_hour).to_integral_value())
