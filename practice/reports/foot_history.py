"""What was seen on a horse's feet over time: foot by foot, a small drawing a visit, the latest first."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from django.utils.text import capfirst

from practice.lib import formats
from practice.lib.profile import Profile
from practice.models import Finding, Foot, Horse, Visit
from practice.reports.earlier_findings import EarlierFinding
from practice.reports.hoof import FootDrawing, drawn

# A horse's page shows this many visits of a foot; it looks for them among this many findings.
VISITS_SHOWN, LOOKED_THROUGH = 12, 300


@dataclass(frozen=True)
class SeenSign:
    """A row of the table: where, what, and what became of it."""

    day: str
    zone: str
    seen: str
    more: str


@dataclass(frozen=True)
class SeenOnFoot:
    """What a foot showed at one visit."""

    foot: str
    visit: Visit
    findings: list[Finding]
    profile: Profile

    @property
    def day(self) -> str:
        return formats.medium_date(self.visit.date, self.profile.locale)

    @property
    def url(self) -> str:
        return self.visit.horse_url(self.findings[0].horse)

    @property
    def drawing(self) -> FootDrawing:
        return drawn(self.foot, [finding.zone for finding in self.findings])

    @property
    def words(self) -> str:
        """The signs, under the drawing: `Red sole, crack`."""
        return capfirst(", ".join(dict.fromkeys(finding.kind for finding in self.findings)))

    @property
    def rows(self) -> list[SeenSign]:
        return [self._row(finding) for finding in self.findings]

    def _row(self, finding: Finding) -> SeenSign:
        return SeenSign(self.day, finding.zone, finding.sign, self._more(finding))

    def _more(self, finding: Finding) -> str:
        """Return the note, whether it is for the veterinarian, who was told, and when it was seen to."""
        words = [finding.note and f"{finding.note.rstrip('.')}."]
        words += ["For the veterinarian." if finding.refer_to_vet else ""]
        words += [EarlierFinding(finding, self.profile).told]
        if finding.resolved_on:
            words += [f"Seen to {formats.medium_date(finding.resolved_on, self.profile.locale)}."]
        return " ".join(filter(None, words))


@dataclass(frozen=True)
class FootHistory:
    """A foot with the visits at which something was seen on it, the latest first."""

    foot: str
    visits: list[SeenOnFoot]

    @property
    def name(self) -> str:
        return drawn(self.foot, ()).name.capitalize()

    @property
    def rows(self) -> list[SeenSign]:
        return [row for visit in self.visits for row in visit.rows]


@dataclass(frozen=True)
class FeetHistory:
    """The feet of a horse on which something was seen; `has_more`: there are earlier visits beside these."""

    horse: Horse
    feet: list[FootHistory]
    has_more: bool


def feet_history(horse: Horse, profile: Profile, most: int | None = VISITS_SHOWN) -> FeetHistory:
    """Return what was seen on each foot at its last visits, or at all of them. Always one query."""
    found = horse.findings.select_related("visit", "horse").order_by("-visit__date", "-visit", "pk")
    rows = list(found[: LOOKED_THROUGH + 1] if most else found)
    by_foot = _visits_by_foot(rows[:LOOKED_THROUGH] if most else rows, profile)
    feet = [FootHistory(foot, by_foot[foot][:most]) for foot in (*Foot.values, "all") if by_foot[foot]]
    is_cut = most and any(len(visits) > most for visits in by_foot.values())
    return FeetHistory(horse, feet, bool(is_cut) or bool(most) and len(rows) > LOOKED_THROUGH)


def _visits_by_foot(rows: Iterable[Finding], profile: Profile) -> dict[str, list[SeenOnFoot]]:
    by_foot: dict[str, list[SeenOnFoot]] = defaultdict(list)
    for visit, found in groupby(rows, key=lambda row: row.visit):
        on_foot: dict[str, list[Finding]] = defaultdict(list)
        for finding in found:
            on_foot[finding.foot].append(finding)
        for foot, findings in on_foot.items():
            by_foot[foot].append(SeenOnFoot(foot, visit, findings, profile))
    return by_foot
