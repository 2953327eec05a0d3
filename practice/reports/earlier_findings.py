"""What was seen on a horse at its last visits and was not seen to when a visit began."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from django.urls import reverse
from django.utils.text import capfirst
from django.utils.timezone import localtime

from practice.lib import formats
from practice.lib.profile import Profile
from practice.models import Finding, Horse, Visit, Work
from practice.reports.hoof import FootDrawing, drawn
from practice.reports.vet import Vet, vet_of

# A finding that is not for the veterinarian is shown at this many visits with work on the horse.
VISITS_SHOWN = 3


@dataclass(frozen=True)
class EarlierFinding:
    """A finding that is shown until it is marked as seen to."""

    finding: Finding
    profile: Profile

    @property
    def horse(self) -> Horse:
        return self.finding.horse

    @property
    def is_for_vet(self) -> bool:
        return self.finding.refer_to_vet

    @property
    def is_resolved(self) -> bool:
        """Whether it was marked as seen to, at this visit or since."""
        return self.finding.resolved_on is not None

    @property
    def seen(self) -> str:
        """What was seen and where, as a caution begins: `Red sole, slight: left fore, sole.`"""
        return self.finding.words

    @cached_property
    def drawing(self) -> FootDrawing:
        return drawn(self.finding.foot, [self.finding.zone])

    @property
    def told(self) -> str:
        """Who was told, and when: `Told Dr. Quill, October 14, 10:50 AM.`; blank where nobody was."""
        if not self.finding.told_who:
            return ""
        words = [f"Told {self.finding.told_who}"]
        if at := self.finding.told_at and localtime(self.finding.told_at):
            words += [self._day(at.date()), formats.clock(at.time(), self.profile.locale)]
        return f"{', '.join(words)}."

    @property
    def vet(self) -> Vet:
        return vet_of(self.horse, self.profile)

    @property
    def told_url(self) -> str:
        """Where it is kept who was told of a finding for the veterinarian."""
        return reverse("practice:finding-told", args=[self.finding.pk]) if self.is_caution else ""

    @property
    def horse_and_sign(self) -> str:
        """Whose it is and what was seen: `Juniper. Red sole: left fore, sole.`"""
        return f"{self.horse}. {self.seen}"

    @property
    def when(self) -> str:
        """`Seen October 14. For the veterinarian.`, and the note; or when it was seen to."""
        if self.is_resolved:
            return f"Seen to {self._day(self.finding.resolved_on)}."
        words = [f"Seen {self._day(self.finding.visit.date)}."]
        if self.is_for_vet:
            words.append("For the veterinarian.")
        if self.told:
            words.append(self.told)
        if self.finding.note:
            words.append(_as_sentence(self.finding.note))
        return " ".join(words)

    @property
    def is_caution(self) -> bool:
        """Whether it is a caution: for the veterinarian, and not seen to."""
        return self.is_for_vet and not self.is_resolved

    def _day(self, day: date) -> str:
        return formats.day_and_month(day, self.profile.locale, self.profile.today)


def _as_sentence(words: str) -> str:
    words = words.strip()
    return f"{capfirst(words)}{'' if words.endswith(('.', '!', '?')) else '.'}"


def earlier_findings(horses: Iterable[Horse], visit: Visit, profile: Profile) -> list[EarlierFinding]:
    """Return what was seen on these horses before a visit and was not seen to by then, the latest first.

    What is for the veterinarian comes first and stays until it is marked; the rest is shown at the
    horse's next three visits with work. Always two queries.
    """
    horses = list(horses)
    found = (
        Finding.objects.unresolved(visit.date)
        .filter(horse__in=horses, visit__date__lte=visit.date)
        .exclude(visit=visit)
        .select_related("horse", "visit")
        .order_by("-refer_to_vet", "-visit__date", "-pk")
    )
    since = _last_visits(horses, visit)
    return [
        EarlierFinding(finding, profile)
        for finding in found
        if finding.refer_to_vet or finding.visit.date >= since.get(finding.horse_id, date.min)
    ]


def _last_visits(horses: list[Horse], visit: Visit) -> dict[int, date]:
    """Return from which day on a visit is one of the horse's last ones, by its key; none: all are."""
    days: dict[int, list[date]] = defaultdict(list)
    work = Work.objects.filter(horse__in=horses, visit__date__lte=visit.date).exclude(visit=visit)
    for horse, day in work.values_list("horse", "visit__date").distinct().order_by("-visit__date"):
        days[horse].append(day)
    return {horse: last[VISITS_SHOWN - 1] for horse, last in days.items() if len(last) >= VISITS_SHOWN}
