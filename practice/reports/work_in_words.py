"""What the form of a horse holds, in words: to tell two states of it apart, and to show both."""

from practice.lib import formats
from practice.reports.horse_at_visit import HorseAtVisit
from practice.rules.horse_work import FEET, HorseWork, WorkLine

# The parts of the form, by the name of each.
WORK, FEET_AND_SHOES, MATERIALS = "Work", "Feet", "Nails and materials"


def work_in_words(at: HorseAtVisit, state: HorseWork) -> dict[str, str]:
    """Return work, feet with their shoes, and materials, one a line each; blank where there is none."""
    return {
        WORK: "\n".join(_line(at, line) for line in state.work),
        FEET_AND_SHOES: "\n".join(_foot(at, state, foot) for foot in FEET if foot in state.feet),
        MATERIALS: "\n".join(_materials(at, state)),
    }


def _line(at: HorseAtVisit, line: WorkLine) -> str:
    """`Fronts, at $45.00 (left fore was split)`; `2 × Lost shoe`."""
    name, locale = str(at.services[line.service]), at.profile.locale
    words = name if line.quantity == 1 else f"{formats.quantity(line.quantity, locale)} × {name}"
    if line.price is not None:
        words += f", at {formats.price(line.price, at.profile.currency, locale)}"
    return f"{words} ({' '.join(line.note.split())})" if line.note.strip() else words


def _foot(at: HorseAtVisit, state: HorseWork, foot: str) -> str:
    shoe = at.items.get(state.shoes.get(foot))
    return f"{foot}: {shoe or 'the same shoe reset'}"


def _materials(at: HorseAtVisit, state: HorseWork) -> list[str]:
    counts = {state.nail: state.nails} if state.nail is not None else {}
    # In one order, whatever was counted first.
    for key in sorted(state.counts):
        counts[key] = counts.get(key, 0) + state.counts[key]
    return [
        f"{at.items[key]}: {formats.quantity_of(count, at.items[key].unit, at.profile.locale)}"
        for key, count in counts.items()
        if count
    ]
