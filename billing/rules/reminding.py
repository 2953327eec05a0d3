"""Which reminder is due for an unpaid invoice."""

from collections.abc import Sequence
from datetime import date

LEVELS = (1, 2, 3)


def next_reminder(due: date, sent: Sequence[date], days: Sequence[int], on: date) -> int | None:
    """Return which reminder (1, 2, 3) is due on a day; None where none is.

    `days` says how many days after the due date each comes, `sent` when earlier ones were sent. One that was
    sent late puts the next one off: between two there are at least as many days as the practice set.
    """
    level = len(sent) + 1
    if level > len(days) or (on - due).days < days[level - 1]:
        return None
    if sent and (on - sent[-1]).days < days[level - 1] - days[level - 2]:
        return None
    return level
