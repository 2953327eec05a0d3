"""When we came to a visit, worked on its horses, and left: taken from the taps, and corrected."""

from collections.abc import Mapping
from datetime import datetime, time, timedelta

from django.db import transaction
from django.db.models import Max

from practice.actions.visits import locked_visit
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Horse, HorseTime, Visit
from practice.rules.working_time import time_spent


@transaction.atomic
def arrive_at_visit(visit: Visit, at: time) -> Visit:
    """Write down when we came; the first time that was tapped stands.

    Raises RuleBroken for a canceled visit, one that we left before then, and a day that is closed for good.
    """
    visit = locked_visit(visit)
    Profile.current().check_open(visit.date)
    if visit.status == Visit.Status.CANCELLED:
        raise RuleBroken("visit_cancelled", "This visit is canceled. Reopen it first.")
    return visit if visit.arrived else set_visit_times(visit, at, visit.leave)


@transaction.atomic
def set_visit_times(visit: Visit, arrived: time | None, leave: time | None) -> Visit:
    """Correct when we came and left. It changes no charge, so it may be done on an invoiced visit too.

    Raises RuleBroken where we would have left before we came, and for a day that is closed for good.
    """
    visit = locked_visit(visit)
    Profile.current().check_open(visit.date)
    came = arrived or visit.arrive
    if came and leave and leave < came:
        raise RuleBroken("left_before_arriving", "You cannot leave before you arrive. Enter both times.")
    visit.arrived, visit.leave = arrived, leave
    visit.save(update_fields=["arrived", "leave"])
    return visit


@transaction.atomic
def note_horse_time(visit: Visit, horse: Horse, finished: datetime, spent: timedelta) -> HorseTime | None:
    """Write down how long a horse took, where its form was open for a time that can be one.

    The first saving says so; what is corrected of the horse later changes no time.
    """
    if finished.date() != visit.date or HorseTime.objects.filter(visit=visit, horse=horse).exists():
        return None
    last = HorseTime.objects.filter(visit=visit).aggregate(last=Max("finished"))["last"]
    known = time_spent(finished, spent, [at for at in (visit.arrived, last) if at])
    if known is None:
        return None
    return HorseTime.objects.create(visit=visit, horse=horse, began=known[0], finished=known[1])


@transaction.atomic
def set_horse_times(visit: Visit, times: Mapping[Horse, tuple[time, time] | None]) -> None:
    """Correct from when to when horses were worked on; None: it is not known.

    Raises RuleBroken where one would be finished before it was begun, and for a day closed for good.
    """
    visit = locked_visit(visit)
    Profile.current().check_open(visit.date)
    for horse, known in times.items():
        if known is None:
            HorseTime.objects.filter(visit=visit, horse=horse).delete()
            continue
        began, finished = known
        if finished <= began:
            raise RuleBroken("finished_before_begun", f"{horse} cannot be finished before you begin.")
        HorseTime.objects.update_or_create(
            visit=visit, horse=horse, defaults={"began": began, "finished": finished}
        )
