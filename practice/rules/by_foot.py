"""What a horse got, told foot by foot: feet that got the same are told together. Pure."""

from collections import Counter
from collections.abc import Iterable, Sequence

from practice.rules.horse_work import FEET, FORE, HIND

TOGETHER = {FEET: "Each foot", FORE: "Each fore foot", HIND: "Each hind foot"}
ONE = {"LF": "Left fore", "RF": "Right fore", "LH": "Left hind", "RH": "Right hind"}
NO_FOOT = ""
# What a foot got, in words, in order of entry.
Got = tuple[str, ...]


def got_by_foot(things: Iterable[tuple[str, str]]) -> dict[str, Got]:
    """Return what each foot got, from pairs of a foot and a thing; by `NO_FOOT` what is of no one foot."""
    got: dict[str, Got] = {}
    for foot, thing in things:
        got[foot] = (*got.get(foot, ()), thing)
    return {foot: got[foot] for foot in (*FEET, NO_FOOT) if foot in got}


def told_by_foot(got: dict[str, Got]) -> list[str]:
    """Return a sentence for the feet that got the same: `Each fore foot: Plain front; 6 × slim nails.`"""
    feet: dict[Got, tuple[str, ...]] = {}
    for foot, things in got.items():
        if foot != NO_FOOT:
            feet[things] = (*feet.get(things, ()), foot)
    told = [f"{named(some)}: {'; '.join(things)}." for things, some in feet.items()]
    return [*told, f"{'; '.join(got[NO_FOOT])}."] if NO_FOOT in got else told


def named(feet: tuple[str, ...]) -> str:
    """Return feet in words: `Each fore foot`, `Left fore and left hind`."""
    if feet in TOGETHER:
        return TOGETHER[feet]
    first, *rest = (ONE[foot] for foot in feet)
    words = [first, *(word.lower() for word in rest)]
    return " and ".join(words) if len(words) < 3 else f"{', '.join(words[:-1])}, and {words[-1]}"


def usual_by_foot(visits: Sequence[dict[str, Got]]) -> dict[str, Got]:
    """Return what each foot got most often at these visits, the latest first; what was last wins a tie.

    A foot that most often got nothing is not in it.
    """
    usual = {}
    for foot in (*FEET, NO_FOOT):
        # Counter keeps the order of first sight, so that the latest comes first among equals.
        [(things, _)] = Counter(visit.get(foot, ()) for visit in visits).most_common(1) or [((), 0)]
        if things:
            usual[foot] = things
    return usual
