"""What matches some words: names, phone numbers, and the numbers of invoices, credit notes and orders."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Case, F, IntegerField, Q, QuerySet, Value, When
from django.db.models.functions import Length, Replace

from billing.models import CreditNote, Invoice
from practice.models.find import FindEntry
from practice.project.find.folding import digits_of, folded, likeness
from practice.project.find.index import near
from stock.models import Order

EXACT, BEGINS, WORD_BEGINS, CONTAINS, ALIKE = range(5)
SHORTEST_SLIP, SHORTEST_PHONE, WHOLE_PHONE = 3, 3, 6
# So many names that have pieces in common are looked at word by word.
LOOKED_AT = 80
# How alike a name has to be where others match: 'John' beside 'Jon'.
NEARLY = 0.8
NUMBERED = {"invoice": (Invoice, "number"), "credit note": (CreditNote, "number"), "order": (Order, "ref")}
MOST_DIGITS = 6


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
    if max(map(len, text.split())) < SHORTEST_SLIP:
        return []
    rated = [(likeness(text, entry.text), entry) for entry in near(text, LOOKED_AT)]
    rated.sort(key=lambda pair: (-pair[0], not pair[1].active, len(pair[1].text), pair[1].text, pair[1].pk))
    return [Match(entry.kind, entry.key, ALIKE, entry.active) for rate, entry in rated if rate > least]


def numbers(words: str, most: int) -> Iterator[Match]:
    """Yield invoices, credit notes and orders by their number, the latest first."""
    asked = " ".join(words.split())
    if not re.search(r"[0-9]", asked):
        return
    for kind, (model, field) in NUMBERED.items():
        rows = model.objects.exclude(**{field: ""})
        found = by_number(rows, field, asked, most)
        # typed without the marks between
        bare = Replace(Replace(F(field), Value("-"), Value("")), Value(" "), Value(""))
        found = found or by_number(rows.annotate(bare=bare), "bare", re.sub(r"[-\s/.#]", "", asked), most)
        for key, rank in found:
            yield Match(kind, key, rank)


def by_number(rows: QuerySet, field: str, asked: str, most: int) -> list[tuple[int, int]]:
    """Return the keys of rows whose number holds what was asked for, with their ranks.

    `187` is all that a year's invoices differ by in `GF-2026-0187`, so this one comes first.
    """
    whole = Q(**{f"{field}__iexact": asked})
    for width in range(1, MOST_DIGITS + 1) if asked.isdecimal() else ():
        counted = asked.zfill(width)
        whole |= Q(**{f"{field}": counted}) | Q(**{f"{field}__endswith": f"-{counted}"})
    rank = Case(
        When(whole, then=EXACT),
        When(**{f"{field}__istartswith": asked}, then=BEGINS),
        When(**{f"{field}__iendswith": asked}, then=BEGINS),
        default=CONTAINS,
        output_field=IntegerField(),
    )
    found = rows.filter(**{f"{field}__icontains": asked}).annotate(rank=rank).order_by("rank", "-pk")
    return list(found.values_list("pk", "rank")[:most])
