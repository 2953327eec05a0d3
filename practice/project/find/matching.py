"""What matches some words: names, phone numbers, and the numbers of invoices, credit notes and orders."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import reduce
from operator import and_, or_

from django.db.models import Case, F, IntegerField, Q, QuerySet, Value, When
from django.db.models.functions import Length, Replace

from practice.models.find import FindEntry
from practice.project.find.folding import digits_of, folded, likeness
from practice.project.find.index import near
from practice.project.find.kinds import NUMBERED

EXACT, BEGINS, WORD_BEGINS, CONTAINS, ALIKE = range(5)
SHORTEST_SLIP, SHORTEST_PHONE, WHOLE_PHONE = 3, 3, 6
# So many names that have pieces in common are looked at word by word.
LOOKED_AT = 80
# How alike a name has to be where others match: 'John' beside 'Jon'.
NEARLY = 0.8
MOST_DIGITS = 6
TYPED_WITHOUT_MARKS = re.compile(r"(?=.*[0-9])[A-Za-z0-9]{6,}")


@dataclass(frozen=True)
class Match:
    """A thing that was found: its kind and key, how well it matches (0 is best), whether it is in use."""

    kind: str
    key: int
    rank: int
    active: bool = True


def matches(words: str, most: int) -> list[Match]:
    """Return what matches, the best first; of what matches as well, what is in use first. At most so many.

    Names that only sound alike come last, and only where there is room.
    """
    text = folded(words)
    if not text:
        return []
    found = [*names(text, most), *phones(text, most), *numbers(words, most)]
    best: dict[tuple[str, int], Match] = {}
    for match in sorted(found, key=lambda match: (match.rank, not match.active)):
        best.setdefault((match.kind, match.key), match)
    if len(best) < most:
        for match in alike(text, least=NEARLY if best else 0):
            best.setdefault((match.kind, match.key), match)
    return list(best.values())[:most]


def names(text: str, most: int) -> Iterator[Match]:
    """Yield the names that hold each word, the best first."""
    entries = FindEntry.objects.filter(way=FindEntry.Way.NAME)
    for word in text.split():
        entries = entries.filter(text__contains=word)
    rank = Case(
        When(text=text, then=EXACT),
        When(text__startswith=text, then=BEGINS),
        When(text__contains=f" {text}", then=WORD_BEGINS),
        default=CONTAINS,
        output_field=IntegerField(),
    )
    for entry in entries.annotate(rank=rank).order_by("rank", "-active", "text", "kind", "key")[:most]:
        yield Match(entry.kind, entry.key, entry.rank, entry.active)


def phones(text: str, most: int) -> Iterator[Match]:
    """Yield those whose phone number has these digits, or is the end of them, as with a country's code."""
    digits = digits_of(text)
    if len(digits) < SHORTEST_PHONE or re.search(r"[^0-9 ]", text):
        return
    entries = FindEntry.objects.filter(way=FindEntry.Way.PHONE).annotate(
        asked=Value(digits), length=Length("text")
    )
    ends = Q(length__gte=WHOLE_PHONE, asked__endswith=F("text"))
    for entry in entries.filter(Q(text__contains=digits) | ends).order_by("-active", "text", "pk")[:most]:
        rank = EXACT if entry.text == digits else CONTAINS
        yield Match(entry.kind, entry.key, rank, entry.active)


def alike(text: str, least: float) -> list[Match]:
    """Return the names that have a word like each of these, and more alike than `least`, the best first."""
    if max(map(len, text.split())) < SHORTEST_SLIP or text.replace(" ", "").isdecimal():
        return []
    rated = [(likeness(text, entry.text), entry) for entry in near(text, LOOKED_AT)]
    rated.sort(key=lambda pair: (-pair[0], not pair[1].active, len(pair[1].text), pair[1].text, pair[1].pk))
    return [Match(entry.kind, entry.key, ALIKE, entry.active) for rate, entry in rated if rate > least]


def numbers(words: str, most: int) -> Iterator[Match]:
    """Yield invoices, credit notes and orders by their number, the latest number first."""
    asked = " ".join(words.split())
    if not re.search(r"[0-9]", asked):
        return
    for code, kind in NUMBERED.items():
        rows = kind.model.objects.exclude(**{kind.field: ""})
        for key, rank in by_number(rows, kind.field, asked, most):
            yield Match(code, key, rank)


def by_number(rows: QuerySet, field: str, asked: str, most: int) -> list[tuple[int, int]]:
    """Return the keys of rows whose number holds what was asked for, with their ranks, the best first.

    `187` is all that a year's invoices differ by in `GF-2026-0187`, so this one comes first.
    """
    counted = [asked.zfill(width) for width in range(1, MOST_DIGITS + 1)] if asked.isdecimal() else []
    ends = any_of(f"{field}__endswith", {f"-{number}" for number in counted})
    whole = Q(**{f"{field}__in": {asked, asked.upper(), *counted}})
    holding = rows.filter(all_of(f"{field}__icontains", asked.split()))
    if TYPED_WITHOUT_MARKS.fullmatch(asked):
        holding = rows.annotate(bare=Replace(F(field), Value("-"), Value(""))).filter(bare__icontains=asked)
    held = list(latest(holding, field, most))
    # Where few hold it, this one look through all numbers has found also those that match better.
    among = rows.filter(pk__in=held) if len(held) < most else rows
    begins = among.filter(**{f"{field}__istartswith": asked})
    found: dict[int, int] = {}
    for rank, keys in (
        (EXACT, latest(among.filter(whole | ends), field, most)),
        (BEGINS, latest(begins, field, most)),
        (CONTAINS, held),
    ):
        for key in keys:
            found.setdefault(key, rank)
        if found and not counted:  # the number as a whole, or its beginning: others hold it by chance
            break
    return list(found.items())


def latest(rows: QuerySet, field: str, most: int) -> QuerySet:
    """Return the keys of the rows with the highest numbers; the index of the numbers alone is read for it."""
    return rows.order_by(f"-{field}").values_list("pk", flat=True)[:most]


def any_of(lookup: str, values: Iterable[str]) -> Q:
    return reduce(or_, (Q(**{lookup: value}) for value in sorted(values)), Q(pk__in=[]))


def all_of(lookup: str, values: Iterable[str]) -> Q:
    return reduce(and_, (Q(**{lookup: value}) for value in values))
