"""What came late: figures of earlier packs that the book gives differently now."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from billing.models.pack import Pack
from billing.reports.year.contract import by_contract
from billing.reports.year_end import YearEnd, year_end
from practice.lib.profile import Profile

# Lists of the contract, and what tells their rows apart.
KEYS_OF_ROWS = ("category", "service", "vehicle", "from")


@dataclass(frozen=True)
class ChangedFigure:
    """A figure of an earlier pack that the book gives differently now; blank: it was not there."""

    year: int
    made_on: date
    what: str
    then: str
    now: str


def figures_of(document: dict, before: str = "") -> Iterator[tuple[str, str]]:
    """Return every figure of a year's document with what it is: `mileage, vehicles, Blue truck, business`."""
    for key, value in document.items():
        name = f"{before}{key.replace('_', ' ')}"
        if isinstance(value, dict):
            yield from figures_of(value, f"{name}, ")
        elif isinstance(value, list):
            for number, row in enumerate(value, start=1):
                if isinstance(row, dict):
                    named = [row[key] for key in KEYS_OF_ROWS if row.get(key)]
                    rest = {k: v for k, v in row.items() if k not in KEYS_OF_ROWS}
                    yield from figures_of(rest, f"{name}, {' '.join(named) or number}, ")
                elif key != "warnings":
                    yield f"{name}, {number}", str(row)
        else:
            yield name, "" if value is None else str(value)


def came_late(year: YearEnd, profile: Profile, today: date) -> list[ChangedFigure]:
    """Return what differs from the last pack of this year and of each year before it."""
    packs = {pack.year: pack for pack in Pack.objects.filter(year__lte=year.year).order_by("made_at", "pk")}
    changed = []
    for number, pack in sorted(packs.items()):
        now = year if number == year.year else year_end(number, profile, today)
        was, is_now = dict(figures_of(json.loads(pack.figures))), dict(figures_of(by_contract(now)))
        for what in dict.fromkeys([*was, *is_now]):
            if was.get(what, "") != is_now.get(what, ""):
                changed.append(
                    ChangedFigure(number, pack.made_on, what, was.get(what, ""), is_now.get(what, ""))
                )
    return changed
