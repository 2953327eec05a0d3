"""Findings: record a sign as seen, correct it, keep who was told of it, and say that it was seen to."""

from collections.abc import Collection, Iterable
from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from practice.actions.photos import add_photos, remove_photos
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Finding, Horse, Photo, Visit


@transaction.atomic
def record_finding(
    visit: Visit, horse: Horse, uuid: UUID | None = None, photos: Iterable[bytes] = (), **seen
) -> Finding:
    """Record a sign as seen: its foot, zone, kind, how marked, note, whether it is for the veterinarian.

    A visit that is invoiced takes one too; `photos` are what `clean_photo` gave. Raises RuleBroken for a day
    that is closed for good.
    """
    Profile.current().check_open(visit.date)
    check_told(visit, seen.get("told_at"))
    named = {"uuid": uuid} if uuid else {}
    finding = Finding.objects.create(visit=visit, horse=horse, **named, **seen)
    _add_photos(finding, photos, uuid)
    return finding


def _add_photos(finding: Finding, photos: Iterable[bytes], uuid: UUID | None) -> None:
    visit = finding.visit
    add_photos(finding.horse, photos, visit.date, visit=visit, finding=finding, uuid=uuid)


@transaction.atomic
def change_finding(
    finding: Finding, uuid: UUID | None = None, photos: Iterable[bytes] = (), **seen
) -> Finding:
    """Correct what was recorded as seen, and add photos. Raises RuleBroken where its day is closed."""
    Profile.current().check_open(finding.visit.date)
    check_told(finding.visit, seen.get("told_at"))
    for name, value in seen.items():
        setattr(finding, name, value)
    finding.save(update_fields=list(seen))
    _add_photos(finding, photos, uuid)
    return finding


@transaction.atomic
def delete_finding(finding: Finding) -> None:
    """Delete what was recorded by mistake, with its photos. Raises RuleBroken where its day is closed."""
    Profile.current().check_open(finding.visit.date)
    remove_findings(Finding.objects.filter(pk=finding.pk))


@transaction.atomic
def tell_of_finding(finding: Finding, who: str, at: datetime) -> Finding:
    """Keep who was told of a finding, and when. What was seen stays, so its day may be closed.

    Raises RuleBroken for a time before the day on which it was seen.
    """
    check_told(finding.visit, at)
    finding.told_who, finding.told_at = who, at
    finding.save(update_fields=["told_who", "told_at"])
    return finding


def check_told(visit: Visit, at: datetime | None) -> None:
    """Raise RuleBroken where somebody would have been told before it was seen."""
    if at and timezone.localdate(at) < visit.date:
        raise RuleBroken(
            "told_before_seen", f"This was seen on {visit.date.isoformat()}. Type when you told them of it."
        )


@transaction.atomic
def resolve_finding(finding: Finding, on: date) -> Finding:
    """Mark a finding as seen to on a day; one that is already marked stays as it is.

    Raises RuleBroken for a day before the finding's visit, and for a day that is closed for good.
    """
    finding = Finding.objects.select_for_update(of=["self"]).select_related("visit").get(pk=finding.pk)
    if finding.resolved_on:
        return finding
    if on < finding.visit.date:
        raise RuleBroken(
            "resolved_before_seen",
            f"This was seen on {finding.visit.date.isoformat()}. Mark it as seen to on that day or later.",
        )
    Profile.current().check_open(on)
    finding.resolved_on = on
    finding.save(update_fields=["resolved_on"])
    return finding


@transaction.atomic
def reopen_finding(finding: Finding) -> Finding:
    """Take back that a finding was seen to. Raises RuleBroken where that day is closed for good."""
    finding = Finding.objects.select_for_update().get(pk=finding.pk)
    if finding.resolved_on:
        Profile.current().check_open(finding.resolved_on)
        finding.resolved_on = None
        finding.save(update_fields=["resolved_on"])
    return finding


@transaction.atomic
def remove_findings(findings: QuerySet[Finding]) -> int:
    """Delete findings with their photos; return how many findings there were."""
    remove_photos(Photo.objects.filter(finding__in=findings))
    return findings.delete()[0]


@transaction.atomic
def mark_findings(findings: Iterable[Finding], seen: Collection[int], on: date) -> None:
    """Mark those of these whose keys are in `seen` as seen to on a day; take that back of the others.

    Raises RuleBroken as `resolve_finding` and `reopen_finding` do, and then none is changed.
    """
    for finding in findings:
        if finding.pk in seen:
            resolve_finding(finding, on)
        else:
            reopen_finding(finding)
