"""The shoeing record: how each foot of a horse was shod at a visit; and what is prescribed for it."""

import uuid as uuids
from collections.abc import Iterable, Mapping
from typing import Any

from django.db import transaction

from practice.lib.profile import Profile
from practice.models import FootRecord, Horse, Prescription, Visit
from practice.reports.prescribed import prescribed_on, proposed_feet


@transaction.atomic
def save_feet(visit: Visit, horse: Horse, feet: Mapping[str, Mapping[str, Any]]) -> None:
    """Save what is said of each foot; one of which nothing is said has no record any more.

    A visit that is invoiced takes it too, as it bills nothing. Raises RuleBroken for a day that is closed for
    good.
    """
    Profile.current().check_open(visit.date)
    for foot, said in feet.items():
        known = FootRecord.objects.filter(visit=visit, horse=horse, foot=foot)
        if any(value not in (None, "") for name, value in said.items() if name != "toe_unit"):
            FootRecord.objects.update_or_create(visit=visit, horse=horse, foot=foot, defaults=said)
        else:
            known.delete()


def repeat_feet(visit: Visit, horse: Horse, before: Visit) -> None:
    """Record what a visit before had, as prescribed now, where nothing is recorded here; no measures."""
    if visit.feet.filter(horse=horse).exists():
        return
    shod = visit.materials.filter(horse=horse).exclude(foot="").values_list("foot", flat=True)
    records = list(before.feet.filter(horse=horse))
    feet = set(shod) | {record.foot for record in records}
    for foot, said in proposed_feet(records, prescribed_on(horse, visit.date), sorted(feet)).items():
        FootRecord.objects.create(visit=visit, horse=horse, foot=foot, **said)


@transaction.atomic
def prescribe(
    horse: Horse, feet: Iterable[str], uuid: uuids.UUID | None = None, **said
) -> list[Prescription]:
    """Prescribe the same for some feet of a horse; with a `uuid` that did so before, nothing changes."""
    rows = []
    for foot in feet:
        key = uuids.uuid5(uuid, foot) if uuid else uuids.uuid4()
        defaults = {"horse": horse, "foot": foot, **said}
        rows.append(Prescription.objects.get_or_create(uuid=key, defaults=defaults)[0])
    return rows
