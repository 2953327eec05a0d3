"""What becomes of an entry that could not be saved: each way is one press, and what waits for it follows."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q
from django.http import Http404, HttpRequest
from django.urls import Resolver404, resolve
from django.utils import timezone

from billing.actions.further_stops import complete_further_stop, plan_further_stop
from practice.actions.visits import reopen_visit
from practice.lib.errors import RuleBroken
from practice.models import PhoneEntry, Visit
from practice.project.phone.answering import replay_answered
from practice.project.phone.placeholders import NotThere, with_keys_in
from practice.project.phone.replay import WAITS, ReplayOutcome, replay
from practice.project.phone.sent import SentEntry, entry_of
from practice.project.phone.taking import files_of, let_files_go

SETTLED, DISCARDED, TO_SETTLE = (
    PhoneEntry.State.SETTLED,
    PhoneEntry.State.DISCARDED,
    PhoneEntry.State.TO_SETTLE,
)
# Why a stop takes no more work: it is invoiced, or its day is closed for good.
FIXED = ("visit_locked", "visit_fixed", "visit_billed", "day_closed")
CANCELED = "visit_cancelled"
WORK_OF_A_STOP = ("practice:visit-horse", "practice:visit-as-last-time")
DONE = "practice:visit-complete"
UNDO_WITHIN = timedelta(days=1)


@dataclass(frozen=True)
class AtStop:
    """An entry about a stop that is in the book: what kind of form it is, and the stop."""

    view_name: str
    visit: Visit


def as_sent(kept: PhoneEntry) -> SentEntry:
    """Return an entry that is to settle with its files, as the phone sent it."""
    return entry_of(kept, files_of(kept))


def stop_of(kept: PhoneEntry) -> AtStop | None:
    """Return the stop that an entry is about; None where it is about none, or that is gone."""
    try:
        match = resolve(with_keys_in(kept.path).partition("?")[0])
    except (NotThere, Resolver404):
        return None
    if match.view_name not in (*WORK_OF_A_STOP, DONE):
        return None
    visit = Visit.objects.select_related("place", "vehicle").filter(pk=match.kwargs["pk"]).first()
    return visit and AtStop(match.view_name, visit)


def stop_of_work(kept: PhoneEntry) -> Visit:
    """Return the stop at which an entry records work. Raises RuleBroken where there is none (any more)."""
    at = stop_of(kept)
    if at is None or at.view_name not in WORK_OF_A_STOP:
        raise RuleBroken("no_stop", "The stop is no longer in the book.")
    return at.visit


def locked_entry(pk: int) -> PhoneEntry:
    """Return an entry with its row locked. Raises Http404."""
    try:
        return PhoneEntry.objects.select_for_update().get(pk=pk)
    except PhoneEntry.DoesNotExist:
        raise Http404 from None


def check_open(kept: PhoneEntry) -> None:
    """Raise RuleBroken where an entry is settled already, on another device."""
    if kept.state != TO_SETTLE:
        raise RuleBroken("settled_already", "This was settled already.")


@transaction.atomic
def save_now(request: HttpRequest, pk: int) -> PhoneEntry:
    """Save an entry as it was recorded, over what changed meanwhile and though it is odd.

    Raises RuleBroken with what speaks against it.
    """
    kept = locked_entry(pk)
    check_open(kept)
    settle(kept, must_be_saved(replay_answered(request, as_sent(kept))), "saved")
    take_along(request)
    return kept


@transaction.atomic
def plan_again_and_save(request: HttpRequest, pk: int) -> PhoneEntry:
    """Make the canceled stop of an entry a planned one again, and save the entry."""
    kept = locked_entry(pk)
    check_open(kept)
    visit = stop_of_work(kept)
    reopen_visit(visit)
    settle(kept, must_be_saved(replay_answered(request, as_sent(kept))), "planned again")
    take_along(request)
    return kept


@transaction.atomic
def bill_as_further_stop(request: HttpRequest, pk: int) -> PhoneEntry:
    """Save the work of an invoiced stop on a further one there, with all else that waits for that stop.

    The next closing of the day bills it on a further invoice. Raises RuleBroken with what speaks against it.
    """
    kept = locked_entry(pk)
    check_open(kept)
    visit = stop_of_work(kept)
    stop = plan_further_stop(visit)
    for pk in [each.pk for each in entries_of_stop(kept, visit)]:
        each = locked_entry(pk)
        check_open(each)
        sent = moved(as_sent(each), visit, stop)
        settle(each, must_be_saved(replay_answered(request, sent)), "further stop")
    complete_further_stop(stop, visit, timezone.now())
    take_along(request)
    kept.refresh_from_db()
    return kept


def entries_of_stop(kept: PhoneEntry, visit: Visit) -> list[PhoneEntry]:
    """Return an entry and the others to settle with work of a stop that takes no more.

    The stop may have been closed after the code of `kept` was noted.
    """
    waiting = PhoneEntry.objects.to_settle().filter(Q(code__in=FIXED) | Q(pk=kept.pk))
    found = [(each, stop_of(each)) for each in waiting]
    return [each for each, at in found if at and at.visit == visit and at.view_name in WORK_OF_A_STOP]


def moved(sent: SentEntry, first: Visit, stop: Visit) -> SentEntry:
    """Return an entry as it would have been recorded at the other stop, at which nothing is saved yet."""
    path = with_keys_in(sent.path).replace(f"/visits/{first.pk}/", f"/visits/{stop.pk}/", 1)
    return replace(sent, path=path).with_values(opened=None, mine=None)


@transaction.atomic
def discard(pk: int, now: datetime) -> PhoneEntry:
    """Take an entry off the list. It can be taken back for a day; its files stay that long."""
    kept = locked_entry(pk)
    check_open(kept)
    kept.state, kept.settled_at, kept.settled_how = DISCARDED, now, "discarded"
    kept.save(update_fields=["state", "settled_at", "settled_how"])
    return kept


@transaction.atomic
def take_back_discard(pk: int, now: datetime) -> PhoneEntry:
    """Put an entry that was discarded on the list again. Raises RuleBroken after a day."""
    kept = locked_entry(pk)
    if kept.state != DISCARDED or now - kept.settled_at > UNDO_WITHIN:
        raise RuleBroken("too_late", "This was discarded more than a day ago, so it cannot be undone.")
    kept.state, kept.settled_at, kept.settled_how = TO_SETTLE, None, ""
    kept.save(update_fields=["state", "settled_at", "settled_how"])
    return kept


def must_be_saved(outcome: ReplayOutcome) -> ReplayOutcome:
    """Return what came of an entry. Raises RuleBroken with what speaks against it."""
    if not outcome.is_saved:
        raise RuleBroken("not_saved", outcome.message)
    return outcome


def settle(kept: PhoneEntry, outcome: ReplayOutcome, how: str) -> None:
    """Note that an entry is in the book, and let go of what was kept of it."""
    let_files_go([kept])
    kept.state, kept.then, kept.settled_at, kept.settled_how = SETTLED, outcome.then, timezone.now(), how
    kept.fields, kept.files = [], []
    kept.save()


def take_along(request: HttpRequest) -> None:
    """Try again what waited for an entry that is settled now, in the order in which it was recorded."""
    for kept in PhoneEntry.objects.to_settle().filter(code=WAITS).select_for_update():
        outcome = replay(request, as_sent(kept))
        if outcome.is_saved:
            settle(kept, outcome, "taken along")
        elif (kept.code, kept.message) != (outcome.code, outcome.message):
            kept.code, kept.message = outcome.code, outcome.message
            kept.save(update_fields=["code", "message"])
