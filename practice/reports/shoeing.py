"""What each foot of a horse wears, as it was shod at a visit, with what changed since the time before."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.db.models import QuerySet
from django.forms import model_to_dict
from django.utils.text import capfirst

from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import Foot, FootRecord, Horse, MaterialUse, Visit
from practice.reports.history import PastVisit, at_visit, last_shoeing, visits_with
from practice.reports.prescribed import (
    PrescribedLine,
    other_prescriptions,
    prescribed_lines,
    prescribed_on,
    proposed_feet,
)
from practice.rules import shoeing
from practice.rules.horse_work import FEET
from practice.rules.shoeing import NAILS, SHOE, FootLine, compared, lines_of, nails_in_words
from stock.models import ItemKind

# How many of a horse's last shoes, and of its last records, are looked at.
RECENT = 100
KINDS = {ItemKind.PAD: shoeing.PAD, ItemKind.PACKING: shoeing.PACKING}


@dataclass(frozen=True)
class ShodFoot:
    """A foot and what is said of it."""

    foot: str
    lines: list[FootLine]

    @property
    def name(self) -> str:
        return Foot(self.foot).label

    @property
    def is_changed(self) -> bool:
        return any(line.is_changed for line in self.lines)


@dataclass(frozen=True)
class HowShod:
    """How a horse was shod at a visit; `before` is the time before, None where there was none."""

    visit: Visit
    feet: list[ShodFoot]
    before: Visit | None
    profile: Profile

    @property
    def since(self) -> str:
        """Say what the marks compare with."""
        if self.before is None:
            return ""
        return f"Compared with {formats.medium_date(self.before.date, self.profile.locale)}."

    @property
    def changed(self) -> list[ShodFoot]:
        return [foot for foot in self.feet if foot.is_changed]


def shoeing_at(visit: Visit, horse: Horse, profile: Profile) -> HowShod:
    """Return how a horse was shod at a visit, compared with its last cycle work before it."""
    before = last_shoeing(horse, visit)
    old, had = said_of_feet(before, horse, profile) if before else ({}, {})
    now, has = said_of_feet(at_visit(visit, horse), horse, profile)
    feet = []
    for foot in FEET:
        names = compared(foot in has, foot in had) if before and now[foot] else ()
        if lines := lines_of(now[foot], old.get(foot, {}), names):
            feet.append(ShodFoot(foot, lines))
    return HowShod(visit, feet, before.visit if before else None, profile)


def said_of_feet(
    past: PastVisit, horse: Horse, profile: Profile
) -> tuple[dict[str, dict[str, str]], dict[str, FootRecord]]:
    """Return by foot what a visit says of it, by the names of `rules/shoeing.py`, and its records."""
    records = {record.foot: record for record in past.visit.feet.filter(horse=horse)}
    uses = {foot: [use for use in past.materials if use.foot == foot] for foot in FEET}
    is_shoeing = any(row.service.resets_cycle for row in past.work)
    shod_before = earlier_shoes(horse, past.visit) if is_shoeing else {}
    said = {}
    for foot in FEET:
        words = said_of_foot(records.get(foot), uses[foot], shod_before.get(foot, ""), profile)
        if not words and is_shoeing:
            words = {shoeing.SHOE: shoeing.BARE}
        said[foot] = words
    return said, records


def said_of_foot(
    record: FootRecord | None, uses: Iterable[MaterialUse], shoe_before: str, profile: Profile
) -> dict[str, str]:
    """Return what is said of one foot; with nails and no new shoe, the one before went back on."""
    said = _said_by_materials(list(uses), shoe_before, record)
    if record is None:
        return said
    own = {
        shoeing.SHOE: record.shoe,
        shoeing.FITTED: record.fitted,
        shoeing.FIT: record.fit,
        shoeing.CLIPS: record.get_clips_display().lower(),
        shoeing.PAD: record.pad,
        shoeing.PACKING: record.packing,
        shoeing.ANGLE: angle_in_words(record.angle, profile),
        shoeing.TOE_LENGTH: toe_in_words(record, profile),
        shoeing.NOTE: record.note,
    }
    return said | {name: words for name, words in own.items() if words}


def _said_by_materials(
    uses: list[MaterialUse], shoe_before: str, record: FootRecord | None
) -> dict[str, str]:
    of_kind: dict[str, list[MaterialUse]] = {}
    for use in uses:
        of_kind.setdefault(use.item.kind, []).append(use)
    shoes, nails = of_kind.get(ItemKind.SHOE, []), of_kind.get(ItemKind.NAIL, [])
    count = int(sum((use.quantity for use in nails), Decimal(0)))
    sides = (record.nails_outside, record.nails_inside) if record else (None, None)
    said = {
        shoeing.SHOE: str(shoes[0].item) if shoes else shoe_before if nails else "",
        shoeing.NAILS: nails_in_words(str(nails[0].item) if nails else "", count, *sides),
        shoeing.CLIPS: shoes[0].item.clips if shoes else "",
    }
    said |= {
        name: formats.listed(use.item.name for use in of_kind.get(kind, [])) for kind, name in KINDS.items()
    }
    return {name: words for name, words in said.items() if words}


def earlier_shoes(horse: Horse, before: Visit) -> dict[str, str]:
    """Return the last shoe that went on each foot before a visit, as far as the last hundred shoes say."""
    earlier = {"horse": horse, "visit__status": Visit.Status.DONE, "visit__date__lte": before.date}
    uses = MaterialUse.objects.filter(**earlier, item__kind=ItemKind.SHOE, foot__in=FEET)
    records = FootRecord.objects.filter(**earlier).exclude(shoe="")
    rows = [(use.visit, use.foot, str(use.item)) for use in _latest(uses.select_related("item"), before)]
    rows += [(record.visit, record.foot, record.shoe) for record in _latest(records, before)]
    rows.sort(key=lambda row: (row[0].date, row[0].pk))
    return {foot: shoe for _, foot, shoe in rows}


def _latest(rows: QuerySet, before: Visit) -> list:
    """Return the last rows that are not of a visit, in the order in which they were entered."""
    rows = rows.exclude(visit=before).select_related("visit").order_by("-visit__date", "-visit", "-pk")
    return list(rows[:RECENT])[::-1]


def angle_in_words(angle: Decimal | None, profile: Profile) -> str:
    return "" if angle is None else f"{formats.quantity(angle, profile.locale)}°"


def toe_in_words(record: FootRecord, profile: Profile) -> str:
    if record.toe_length is None:
        return ""
    return f"{formats.quantity(record.toe_length, profile.locale)} {record.toe_unit}"


def measured(record: FootRecord, profile: Profile) -> str:
    """Return what was measured on a foot: `52°, 3.25 in`."""
    return ", ".join(filter(None, [angle_in_words(record.angle, profile), toe_in_words(record, profile)]))


@dataclass(frozen=True)
class FeetToRecord:
    """What the form of a shoeing record is filled in with, by foot.

    Where nothing is recorded at this visit, that is what the time before had, for the feet that are shod now.
    """

    visit: Visit
    horse: Horse
    profile: Profile

    @cached_property
    def here(self) -> PastVisit:
        return at_visit(self.visit, self.horse)

    @cached_property
    def filled(self) -> dict[str, dict[str, Any]]:
        recorded = {row.foot: model_to_dict(row) for row in self.visit.feet.filter(horse=self.horse)}
        if recorded:
            return recorded
        last = last_shoeing(self.horse, self.visit)
        records = last.visit.feet.filter(horse=self.horse) if last else ()
        shod = {use.foot for use in self.here.materials} if self.here.work else set(FEET)
        return proposed_feet(records, prescribed_on(self.horse, self.visit.date), shod)

    @cached_property
    def wears(self) -> dict[str, str]:
        """The shoe and nails that this visit's materials say, else the shoe that each foot came in with."""
        before = earlier_shoes(self.horse, self.visit)
        said = {}
        for foot in FEET:
            uses = [use for use in self.here.materials if use.foot == foot]
            words = said_of_foot(None, uses, before.get(foot, ""), self.profile)
            said[foot] = ", ".join(filter(None, [words.get(SHOE), words.get(NAILS)])) or before.get(foot, "")
        return said

    @cached_property
    def measured(self) -> dict[str, str]:
        """What was measured last, with its day: `52°, 3.25 in on Oct 14, 2026`."""
        rows = self.horse.feet.filter(visit__date__lte=self.visit.date)
        said = {}
        for record in _latest(rows, self.visit):
            if words := measured(record, self.profile):
                day = formats.medium_date(record.visit.date, self.profile.locale)
                said[record.foot] = f"{words} on {day}"
        return said


@dataclass(frozen=True)
class FeetOfHorse:
    """What the page of a horse says of its feet: what is prescribed, and how it was shod last."""

    prescribed: list[ListRow]
    earlier: list[ListRow]
    shod: HowShod | None


def feet_of(horse: Horse, on: date, profile: Profile) -> FeetOfHorse:
    """Return what is said of a horse's feet on a day."""

    def rows(lines: list[PrescribedLine]) -> list[ListRow]:
        return [ListRow(line.url, capfirst(line.what), more=line.who, fact=line.until) for line in lines]

    latest = visits_with(horse).filter(date__lte=on, work__service__resets_cycle=True, work__horse=horse)
    visit = latest.distinct().first()
    return FeetOfHorse(
        rows(prescribed_lines(horse, on, profile)),
        rows(other_prescriptions(horse, on, profile)),
        shoeing_at(visit, horse, profile) if visit else None,
    )
