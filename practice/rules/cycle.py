"""The weeks of a horse's cycle, as its strip of nails shows them. Pure."""

from dataclasses import dataclass
from datetime import date

DAYS = 7
# A strip has at most this many nails past the due date; more would say no more.
MOST_PAST = 10
# From one nail of a strip to the next, in its own units.
STEP = 9


@dataclass(frozen=True)
class CycleWeeks:
    """Whole weeks of the cycle that are over, those still to come, and each week begun past the due date."""

    gone: int
    ahead: int
    past: int

    @property
    def words(self) -> str:
        """`4 of 6 weeks`, `6 of 6 weeks and 1 begun past the due date`."""
        weeks = f"{self.gone} of {self.gone + self.ahead} weeks"
        return f"{weeks} and {self.past} begun past the due date" if self.past else weeks

    @property
    def nails(self) -> list[tuple[str, int]]:
        """The nails of the strip: `gone`, `ahead` or `past`, each with how far from the left it stands."""
        looks = ["gone"] * self.gone + ["ahead"] * self.ahead + ["past"] * min(self.past, MOST_PAST)
        return [(look, number * STEP + 2 * (look == "past")) for number, look in enumerate(looks)]

    @property
    def width(self) -> int:
        """How wide the strip is, in the units of its nails."""
        return (self.nails[-1][1] if self.nails else 0) + STEP + 1


def cycle_weeks(last: date, due: date, on: date) -> CycleWeeks:
    """Return the weeks of the cycle from the last work to the due date, as they are on a day.

    The cycle is counted in whole weeks, at least one; a part of a week counts as one.
    """
    whole = max(-(-(due - last).days // DAYS), 1)
    gone = min(max((on - last).days // DAYS, 0), whole) if on < due else whole
    past = -(-max((on - due).days, 0) // DAYS)
    return CycleWeeks(gone, whole - gone, past)
