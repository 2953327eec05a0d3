"""Which planned visits are a horse's next call, and how often it comes round before. Pure, plain values."""

from datetime import date


def is_next_call(booked: date, due: date | None, asked: date, cycle: int) -> bool:
    """Whether a visit booked for a day is the next call of a horse due on `due` (None: never done).

    It is when it is at most half a cycle (in days) after the later of the due date and the day asked.
    """
    return rounds_before(booked, max(due or asked, asked), cycle) == 0


def rounds_before(booked: date, first: date, cycle: int) -> int:
    """Return how often a horse due on `first`, then every cycle (in days), comes round before a visit.

    A round at most half a cycle before the visit, or after it, is the visit itself.
    """
    over = 2 * (booked - first).days - cycle
    return max(-(-over // (2 * cycle)), 0)


def is_another_call(one: date, other: date, cycle: int) -> bool:
    """Whether two visits are at least half a cycle (in days) from each other."""
    return 2 * abs((one - other).days) >= cycle
