"""What becomes of a horse on a day, recorded with all that follows from it, and undone."""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta

from django.db import transaction

from billing.actions.horse_changes import (
    STATUS,
    HorseChange,
    Kind,
    Recording,
    check_change,
    check_elsewhere,
    fixed_since,
)
from billing.actions.payers import end_payers
from billing.reports.life_rows import Touched
from practice.actions.horses import end_owners, set_owners
from practice.actions.visits import cancel_visit
from practice.actions.work import take_horse_off
from practice.lib import formats
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Client, Horse, LifeEvent
from practice.reports.planned_stops import CANCEL, KEEP, OFF, PlannedStop, planned_stops
from practice.rules.ownership import shares_after_sale


@transaction.atomic
def record_change(horse: Horse, change: HorseChange, recording: Recording) -> LifeEvent:
    """Record what becomes of a horse: its owners, status, place, payers and planned stops follow.

    Raises RuleBroken as `check_change` does, and where a planned stop is not answered; then nothing changes.
    """
    Profile.locked().check_open(change.on)
    horse = Horse.objects.select_for_update().get(pk=horse.pk)
    check_change(horse, change)
    stops = answered(planned_stops([horse], recording.today), change.stops)
    if change.kind == Kind.DIED:
        check_not_named(stops)
    touched = Touched(horses=[horse.pk], visits=keys_of_changed(stops))
    before = touched.written()
    event = apply_change(horse, change, recording)
    settle(stops, {horse.pk})
    return keep_to_undo(event, touched, before)


def apply_change(horse: Horse, change: HorseChange, recording: Recording) -> LifeEvent:
    """Let a locked horse follow a change that was checked, but for its planned stops."""
    _change_owners(horse, change)
    ends_payers = change.is_whole_sale or change.kind == Kind.DIED
    if ends_payers and not change.keeps_payers:
        end_payers(horse.bill_to.all(), change.last_day)
    if change.status:
        horse.status = change.status
    elif change.buyer and horse.status == Horse.Status.SOLD:
        horse.status = Horse.Status.ACTIVE
    horse.place = change.place or horse.place
    if change.is_whole_sale or change.kind in STATUS:
        horse.next_call = None
    horse.save(update_fields=["status", "place", "next_call"])
    return LifeEvent.objects.create(
        date=change.on,
        kind=change.kind,
        horse=horse,
        client=change.buyer,
        place=change.place,
        note=change.note,
        at=recording.at,
        by=recording.by,
    )


def _change_owners(horse: Horse, change: HorseChange) -> None:
    if change.kind == Kind.SOLD and change.buyer:
        owners = list(horse.owners.on(change.on).select_related("client"))
        clients = {owner.client_id: owner.client for owner in owners} | {change.buyer.pk: change.buyer}
        held = [(owner.client_id, owner.share) for owner in owners]
        after = shares_after_sale(held, change.seller and change.seller.pk, change.buyer.pk)
        set_owners(horse, [(clients[key], share) for key, share in after], change.on)
    elif change.kind in (Kind.SOLD, Kind.DIED):
        end_owners(horse, change.last_day)


Answers = list[tuple[PlannedStop, str]]


def answered(stops: Iterable[PlannedStop], answers: Mapping[int, str]) -> Answers:
    """Return each stop with what is to become of it. Raises RuleBroken("stop_to_answer")."""
    rows = [(stop, answers.get(stop.visit.pk, "")) for stop in stops]
    for stop, answer in rows:
        if answer not in stop.answers:
            visit = stop.visit
            raise RuleBroken(
                "stop_to_answer",
                f"A stop at {visit.place} is planned for {visit.date.isoformat()}."
                " Choose whether to keep it or cancel it.",
            )
    return rows


def check_not_named(stops: Answers) -> None:
    """Raise RuleBroken("stop_names_it") where a stop that names a horse which died is to be kept as it is."""
    for stop, answer in stops:
        if answer == KEEP and stop.is_named:
            raise RuleBroken(
                "stop_names_it",
                f"Work on {formats.listed(stop.horses)} is planned at {stop.visit.place} on"
                f" {stop.visit.date.isoformat()}. Cancel that stop, or take the horse off it.",
            )


def keys_of_changed(stops: Answers) -> list[int]:
    return [stop.visit.pk for stop, answer in stops if answer != KEEP]


def settle(stops: Answers, leaving: set[int]) -> None:
    """Cancel the stops that are to be canceled, and take those horses that are leaving off others."""
    for stop, answer in stops:
        if answer == CANCEL:
            cancel_visit(stop.visit)
        elif answer == OFF:
            for horse in stop.horses:
                if horse.pk in leaving:
                    take_horse_off(stop.visit, horse)


def keep_to_undo(event: LifeEvent, touched: Touched, before: str) -> LifeEvent:
    """Keep with an event what the rows it touched were, and what they are now."""
    event.to_undo = {"touched": touched.as_keys(), "before": before, "after": touched.written()}
    event.save(update_fields=["to_undo"])
    return event


@transaction.atomic
def record_elsewhere(horse: Horse, on: date, note: str, recording: Recording) -> LifeEvent:
    """Record that someone else did the horse on a day: its cycle begins anew, and it is no work of one's own.

    Raises RuleBroken as `check_elsewhere` does.
    """
    Profile.locked().check_open(on)
    horse = Horse.objects.select_for_update().get(pk=horse.pk)
    check_elsewhere(horse, on)
    event = LifeEvent.objects.create(
        date=on, kind=Kind.ELSEWHERE, horse=horse, note=note, at=recording.at, by=recording.by
    )
    return keep_to_undo(event, Touched(), Touched().written())


@transaction.atomic
def undo_life_event(event: LifeEvent, today: date) -> Horse | Client:
    """Take back what was recorded today, with all that followed; return the horse or client.

    Raises RuleBroken as `check_undo` does.
    """
    profile = Profile.locked()
    event = LifeEvent.objects.select_for_update(of=["self"]).get(pk=event.pk)
    subject, known = event.subject, event.to_undo or {}
    touched = Touched(**known.get("touched", {}))
    check_undo(event, touched, profile, today)
    touched.bring_back(known["before"], known["after"])
    LifeEvent.objects.filter(pk__in=[event.pk, *touched.events]).delete()
    subject.refresh_from_db()
    return subject


def check_undo(event: LifeEvent, touched: Touched, profile: Profile, today: date) -> None:
    """Raise RuleBroken where an event cannot be undone any more.

    Codes: `event_too_old`, `day_closed`, `changed_since`, `invoiced_since`.
    """
    if not event.can_be_undone(today):
        raise RuleBroken(
            "event_too_old",
            "This can be undone only on the day it was recorded. Change the owners, the place, or the status"
            " instead.",
        )
    profile.check_open(event.date)
    if touched.written() != event.to_undo["after"]:
        raise RuleBroken(
            "changed_since",
            f"Something about {event.subject} has changed since then, so this cannot be undone."
            " Change the owners, the place, or the status instead.",
        )
    for each in LifeEvent.objects.filter(pk__in=[event.pk, *touched.events], kind=Kind.SOLD):
        since = each.date if each.client_id else each.date + timedelta(days=1)
        if visit := fixed_since(each.horse, since).select_related("place").first():
            raise RuleBroken(
                "invoiced_since",
                f"The work on {each.horse} at {visit.place} on {visit.date.isoformat()} was invoiced since"
                " then. Credit that invoice first.",
            )
