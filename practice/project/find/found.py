"""What was found, in words: rows that open it, each with the kind of thing that it is."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import Model

from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.project.find.index import catch_up
from practice.project.find.kinds import KINDS, NUMBERED
from practice.project.find.matching import ALIKE, Match, matches

SHOWN, SHOWN_BELOW_THE_FIELD = 40, 8
FOUND = {**KINDS, **NUMBERED}


@dataclass(frozen=True)
class FoundThings:
    """What some words found, the best first. `is_near`: nothing is called so, but something sounds alike."""

    words: str
    rows: list[ListRow]
    is_near: bool = False
    is_all: bool = True

    @property
    def answer(self) -> str:
        if not self.words:
            return "Find anything by its name, number, or phone."
        if not self.rows:
            return f"Nothing matches '{self.words}'."
        if self.is_near:
            return f"Nothing is called '{self.words}'. Did you mean one of these?"
        if not self.is_all:
            return f"Many matches for '{self.words}'. Type more of it."
        return f"{self.counted} for '{self.words}'."

    @property
    def counted(self) -> str:
        return formats.counted(len(self.rows), "match", "matches")

    @property
    def news(self) -> str:
        """What is read out while one types."""
        return self.counted if self.rows and not self.is_near else self.answer if self.words else ""


def find_all(words: str, on: date, profile: Profile, most: int = SHOWN) -> FoundThings:
    """Return what is found by these words on a day, at most so many things."""
    catch_up()
    found = matches(words, most + 1)
    rows = rows_of(found[:most], on, profile)
    is_near = bool(found) and all(match.rank == ALIKE for match in found)
    return FoundThings(words, rows, is_near, len(found) <= most)


def rows_of(found: list[Match], on: date, profile: Profile) -> list[ListRow]:
    """Return the rows of what was found, from one query a kind. What is gone by now has none."""
    keys: dict[str, list[int]] = defaultdict(list)
    for match in found:
        keys[match.kind].append(match.key)
    things = {kind: FOUND[kind].shown(on).in_bulk(some) for kind, some in keys.items()}
    return [
        row_of(match.kind, things[match.kind][match.key], profile)
        for match in found
        if match.key in things[match.kind]
    ]


def row_of(code: str, thing: Model, profile: Profile) -> ListRow:
    url = thing.get_absolute_url()
    if kind := KINDS.get(code):
        return ListRow(url, thing.name, kind.more(thing), kind.word, note=kind.state(thing))
    kind = NUMBERED[code]
    more = ", ".join(filter(None, [kind.named(thing), formats.medium_date(kind.day(thing), profile.locale)]))
    return ListRow(url, getattr(thing, kind.field), more, kind.word)
