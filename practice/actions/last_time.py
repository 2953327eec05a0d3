"""Doing to horses what was done to them the last time, without opening a form."""

from collections.abc import Iterable

from django.db import transaction

from practice.actions.shoeing import repeat_feet
from practice.actions.visits import check_not_fixed, locked_visit
from practice.actions.work import MaterialRow, WorkRow, save_work
from practice.lib.errors import RuleBroken
from practice.models import Horse, Visit
from practice.reports.history import PastVisit, at_visit, last_time


@transaction.atomic
def as_last_time(visit: Visit, horses: Iterable[Horse]) -> list[Horse]:
    """Save for each of these horses the work and materials of its last time; return those that were saved.

    The shoeing record goes with them; prices, notes and measures do not. A horse for which just that is saved
    already is left out of the answer. Raises RuleBroken, and nothing is changed: `never_done` for a horse
    without a last time, `work_entered` for one with other work or materials at this visit, and as `save_work`
    and `check_not_fixed` do.
    """
    visit = locked_visit(visit)
    check_not_fixed(visit)
    return [horse for horse in dict.fromkeys(horses) if _repeat(visit, horse)]


def _repeat(visit: Visit, horse: Horse) -> bool:
    """Save a horse's last time at this visit; return whether there was anything to save."""
    last = last_time(horse, visit)
    if last is None:
        raise RuleBroken("never_done", f"{horse} has no last time yet. Open {horse} and tap what was done.")
    recorded = at_visit(visit, horse)
    if _as_values(recorded) == _as_values(last):
        return False
    if recorded.work or recorded.materials:
        raise RuleBroken(
            "work_entered", f"Something is entered for {horse} already. Open {horse} to change it."
        )
    work = [WorkRow(row.service, row.quantity) for row in last.work]
    materials = [MaterialRow(use.item, use.quantity, use.foot) for use in last.materials]
    save_work(visit, horse, work, materials)
    repeat_feet(visit, horse, last.visit)
    return True


def _as_values(past: PastVisit) -> tuple[list, list]:
    work = sorted((row.service_id, row.quantity) for row in past.work)
    return work, sorted((use.item_id, use.foot, use.quantity) for use in past.materials)
