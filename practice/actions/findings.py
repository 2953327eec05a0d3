"""Findings: record a sign as seen, and say that it was seen to."""

from datetime import date

from django.db import transaction
from django.db.models import QuerySet

from practice.actions.photos import remove_photos
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Finding, Horse, Photo, Visit


@transaction.atomic
def record_finding(visit: Visit, horse: Horse, **seen) -> Finding:
    """Record a sign as seen: its foot, zone, kind, note and whether it is for the veterinarian.

    A visit that is invoiced takes one too. Raises RuleBroken for a day that is closed for good.
    """
    Profile.current().check_open(visit.date)
    return Finding.objects.create(visit=visit, horse=horse, **seen)


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
