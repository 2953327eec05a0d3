"""A client who leaves: what becomes of the horses, one by one, then the entry goes into the archive."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum

from django.db import transaction

from billing.actions.horse_changes import HorseChange, Kind, Recording, check_change
from billing.actions.life_events import answered, apply_change, keep_to_undo, keys_of_changed, settle
from billing.actions.payers import end_payers
from billing.models import InvoiceLine
from billing.reports.life_rows import Touched
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Client, Horse, LifeEvent
from practice.reports.planned_stops import planned_stops


class Fate(StrEnum):
    """What becomes of a horse whose owner leaves."""

    GOES = "goes"
    HANDED = "handed"
    SOLD = "sold"
    RETIRED = "retired"
    DIED = "died"


@dataclass(frozen=True)
class Leaving:
    """A client leaves; `on` is the last day.

    `fates` says by key what becomes of each horse, `buyers` who takes over the share in one that is handed
    on, from the day after; `stops` what becomes of each planned stop.
    """

    on: date
    fates: Mapping[int, str]
    buyers: Mapping[int, Client] = field(default_factory=dict)
    stops: Mapping[int, str] = field(default_factory=dict)
    note: str = ""


def horses_in_care(client: Client, on: date) -> list[Horse]:
    """Return the active horses in which a client has a share on a day, by name."""
    owned = client.shares.on(on).values("horse")
    return list(Horse.objects.active().filter(pk__in=owned).select_related("place").order_by("name", "pk"))


@transaction.atomic
def client_leaves(client: Client, leaving: Leaving, recording: Recording) -> LifeEvent:
    """Record that a client leaves. What is owed stays as it is.

    Raises RuleBroken: `already_archived`, `billed_later`, `horse_to_answer`, `needs_a_buyer`, and as
    `check_change` and `answered` do; then nothing is changed.
    """
    Profile.locked().check_open(leaving.on)
    client = Client.objects.select_for_update().get(pk=client.pk)
    _check_client(client, leaving.on)
    horses = horses_in_care(client, leaving.on)
    list(Horse.objects.select_for_update().filter(pk__in=[horse.pk for horse in horses]))
    changes = [(horse, change_of(horse, client, leaving)) for horse in horses]
    for horse, change in changes:
        check_change(horse, change)
    stops = answered(planned_stops(horses, recording.today), leaving.stops)
    keys = [horse.pk for horse in horses]
    touched = Touched(horses=keys, clients=[client.pk], visits=keys_of_changed(stops))
    before = touched.written()
    event = LifeEvent.objects.create(
        date=leaving.on,
        kind=Kind.LEFT,
        client=client,
        note=leaving.note,
        at=recording.at,
        by=recording.by,
    )
    touched.events.extend(apply_change(horse, change, recording).pk for horse, change in changes)
    settle(stops, {horse.pk for horse, change in changes if not change.buyer})
    end_payers(client.bill_to.all(), leaving.on)
    client.archived = True
    client.save(update_fields=["archived"])
    return keep_to_undo(event, touched, before)


def _check_client(client: Client, on: date) -> None:
    if client.archived:
        raise RuleBroken("already_archived", f"{client} is already in the archive.")
    later = InvoiceLine.objects.filter(client=client, visit__date__gt=on).order_by("-visit__date")
    if line := later.select_related("visit").first():
        raise RuleBroken(
            "billed_later",
            f"{client} is billed for a stop on {line.visit.date.isoformat()}. Choose that day or a later"
            " one.",
        )


def change_of(horse: Horse, client: Client, leaving: Leaving) -> HorseChange:
    """Return what becomes of one horse. Raises RuleBroken where that is not said."""
    fate = leaving.fates.get(horse.pk)
    if fate == Fate.HANDED:
        if not (buyer := leaving.buyers.get(horse.pk)):
            raise RuleBroken("needs_a_buyer", f"Choose who takes over {horse}.")
        owners = {owner.client_id for owner in horse.owners.on(leaving.on)}
        seller = client if owners != {client.pk} else None
        since = leaving.on + timedelta(days=1)
        return HorseChange(Kind.SOLD, since, buyer=buyer, seller=seller, note=leaving.note)
    kinds = {Fate.GOES: Kind.AWAY, Fate.SOLD: Kind.SOLD, Fate.RETIRED: Kind.RETIRED, Fate.DIED: Kind.DIED}
    if fate not in kinds:
        raise RuleBroken("horse_to_answer", f"Choose what becomes of {horse}.")
    return HorseChange(kinds[fate], leaving.on, note=leaving.note)
