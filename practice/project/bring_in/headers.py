"""Where the headings of a sheet are, and what its columns mean by them."""

import re

from practice.project.bring_in.meanings import Meaning, SheetKind
from practice.project.bring_in.typed import folded

# Titles, dates and the like may stand above the headings.
SEARCHED = 30
# A word that ends a heading, or stands within it, tells something only where it is as long as this.
SHORTEST, SHORTEST_PART = 3, 6
OTHER_SIGNS = re.compile(r"[^a-z0-9]+")


def bare(heading: str) -> str:
    """Return a heading as it is compared: words in small letters, nothing else."""
    return OTHER_SIGNS.sub(" ", folded(heading).replace("'", "").replace("’", "")).strip()


def find_headings(rows: list[list[str]], kind: SheetKind) -> int:
    """Return the row (from 0) of which the most cells are known as headings, else the first full one."""
    known = [len(guess(row, kind)) for row in rows[:SEARCHED]]
    if max(known, default=0) > 0:
        return known.index(max(known))
    filled = [sum(map(bool, row)) for row in rows[:SEARCHED]]
    return filled.index(max(filled))


def guess(headings: list[str], kind: SheetKind) -> dict[int, str]:
    """Return the meaning of each column that its heading tells, those first that tell it best."""
    names = {column: bare(text) for column, text in enumerate(headings) if text}
    fits = [
        (-_fit(name, meaning), order, column, meaning)
        for order, meaning in enumerate(kind.meanings)
        for column, name in names.items()
    ]
    found: dict[int, str] = {}
    for badness, _, column, meaning in sorted(fits, key=lambda each: each[:3]):
        is_taken = meaning.code in found.values() and meaning.joined_by is None
        if badness < 0 and column not in found and not is_taken:
            found[column] = meaning.code
    return dict(sorted(found.items()))


def _fit(name: str, meaning: Meaning) -> int:
    """Return how well a heading tells a meaning: by all of it, its last words, or a part; 0: not at all.

    The longer the words that are known, the better. `Client phone` is a phone.
    """
    best = 0
    for known in {bare(meaning.label), *(bare(text) for text in meaning.headings.split(","))}:
        if name == known:
            best = max(best, 2_000)
        elif len(known) >= SHORTEST and name.endswith(f" {known}"):
            best = max(best, 1_000 + len(known))
        elif len(known) >= SHORTEST_PART and f" {known} " in f" {name} ":
            best = max(best, len(known))
    return best
