"""What is prescribed for the feet of a horse on a day, in words, and what follows from it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from practice.lib import formats
from practice.lib.profile import Profile
from practice.models import FootRecord, Horse, MaterialUse, Prescription
from practice.rules.by_foot import named
from practice.rules.horse_work import FEET
from stock.models import ItemKind

# What of a record a time after it repeats; a measure is never copied as if it had been taken again.
REPEATED = ("shoe", "fitted", "fit", "nails_outside", "nails_inside", "clips", "pad", "packing")
PRESCRIBED = ("clips", "pad", "packing")


def prescribed_on(horse: Horse, on: date) -> dict[str, Prescription]:
    """Return by foot what is prescribed on a day, never to be saved: of each thing, what began last says."""
    by_foot: dict[str, Prescription] = {}
    for row in horse.prescriptions.on(on).select_related("item"):
        if before := by_foot.get(row.foot):
            for name in PRESCRIBED:
                setattr(row, name, getattr(row, name) or getattr(before, name))
            if not row.item and not row.shoe:
                row.item, row.shoe = before.item, before.shoe
        by_foot[row.foot] = row
    return by_foot


def as_prescribed(uses: Iterable[MaterialUse], prescribed: dict[str, Prescription]) -> list[MaterialUse]:
    """Return materials with the prescribed shoe, at no price of its own, where a foot gets a new one."""
    followed = []
    for use in uses:
        row = prescribed.get(use.foot)
        if row and row.item and use.item.kind == ItemKind.SHOE and use.item != row.item:
            use = MaterialUse(
                visit=use.visit, horse=use.horse, item=row.item, quantity=use.quantity, foot=use.foot
            )
        followed.append(use)
    return followed


def proposed_feet(
    records: Iterable[FootRecord], prescribed: dict[str, Prescription], shod: Iterable[str]
) -> dict[str, dict[str, Any]]:
    """Return by foot what is proposed for a shoeing record: what the time before said, as prescribed now."""
    known = {record.foot: {name: getattr(record, name) for name in REPEATED} for record in records}
    proposed = {}
    for foot in shod:
        said = known.get(foot, {})
        if row := prescribed.get(foot):
            said |= {name: value for name in PRESCRIBED if (value := getattr(row, name))}
            said |= {"shoe": row.shoe} if row.shoe or row.item else {}
        if any(value not in (None, "") for value in said.values()):
            proposed[foot] = said
    return proposed


@dataclass(frozen=True)
class PrescribedLine:
    """Prescriptions that say the same of some feet, in words; `url` changes the first of them."""

    url: str
    who: str
    what: str
    until: str = ""

    @property
    def words(self) -> str:
        """`From Dr. Quill, Oct 3, 2026: Egg bar 2, left fore.`"""
        return f"{self.who}: {self.what}."


def lines_of_prescriptions(rows: Iterable[Prescription], profile: Profile) -> list[PrescribedLine]:
    """Return prescriptions as lines, those that say the same of several feet as one."""
    feet: dict[tuple, list[Prescription]] = {}
    for row in rows:
        feet.setdefault((*_who_and_what(row, profile), row.valid_to), []).append(row)
    return [
        PrescribedLine(
            same[0].get_absolute_url(),
            who,
            f"{what}, {_named_feet(same)}",
            f"until {formats.medium_date(end, profile.locale)}" if end else "",
        )
        for (who, what, end), same in feet.items()
    ]


def _named_feet(rows: Iterable[Prescription]) -> str:
    """Return the feet of prescriptions in words: `each fore foot`."""
    feet = {row.foot for row in rows}
    return named(tuple(foot for foot in FEET if foot in feet)).lower()


def _who_and_what(row: Prescription, profile: Profile) -> tuple[str, str]:
    day = formats.medium_date(row.valid_from, profile.locale)
    who = f"From {row.by}, {day}" if row.by else f"Your own, {day}"
    angle = f"{formats.quantity(row.angle, profile.locale)}° target angle" if row.angle is not None else ""
    said = [
        str(row.item or row.shoe),
        row.get_clips_display().lower(),
        f"pad: {row.pad}" if row.pad else "",
        f"packing: {row.packing}" if row.packing else "",
        angle,
        row.note.rstrip("."),
    ]
    return who, ", ".join(filter(None, said))


def prescribed_lines(horse: Horse, on: date, profile: Profile) -> list[PrescribedLine]:
    """Return what is prescribed for a horse on a day, in words."""
    return lines_of_prescriptions(horse.prescriptions.on(on).select_related("item"), profile)


def other_prescriptions(horse: Horse, on: date, profile: Profile) -> list[PrescribedLine]:
    """Return what is prescribed before or after a day, not on it, the latest first."""
    rows = horse.prescriptions.exclude(pk__in=horse.prescriptions.on(on).values("pk"))
    return lines_of_prescriptions(rows.select_related("item").order_by("-valid_from", "pk"), profile)
