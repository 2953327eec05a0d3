"""How long horses will take: what their services say, what was learned from the times of the last visits."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date

from django.db.models import F, QuerySet

from practice.models import HorseTime, Service, Visit, Work
from practice.rules.horse_work import ServiceFacts
from practice.rules.working_time import (
    OF_HORSE,
    OF_PRACTICE,
    PlannedMinutes,
    TimedService,
    planned_minutes,
)

# So many of the latest times are looked at for what is learned of all horses.
LOOKED_AT = 200


def facts_of(service: Service) -> ServiceFacts:
    """Return what a service says about feet and shoes, as plain values."""
    return ServiceFacts(
        service.pk,
        service.new_shoes or 0,
        service.feet_nailed or 0,
        service.fitted == Service.Fitted.HOT,
        service.resets_cycle,
    )


def last_services(last: Mapping[int, date]) -> dict[int, list[Service]]:
    """Return the services of the work on horses, by their keys, on the day of each, in order of entry."""
    work = Work.objects.filter(
        horse__in=last, visit__status=Visit.Status.DONE, visit__date__in=set(last.values())
    )
    services: dict[int, list[Service]] = defaultdict(list)
    for row in work.select_related("service").annotate(on=F("visit__date")).order_by("pk"):
        if last[row.horse_id] == row.on:
            services[row.horse_id].append(row.service)
    return services


def planned_times(services: Mapping[int, Sequence[Service]]) -> dict[int, PlannedMinutes]:
    """Return how long horses, by their keys, will take with these services; none where nothing says so."""
    if not services:
        return {}
    times = HorseTime.objects.order_by("-visit__date", "-finished", "-pk")
    own, pooled = defaultdict(list), defaultdict(list)
    of_all = _with_services(times[:LOOKED_AT])
    for row, done in of_all:
        if len(pooled[done]) < OF_PRACTICE:
            pooled[done].append(row.minutes)
    of_horses = _with_services(times.filter(horse__in=services)[: LOOKED_AT * OF_HORSE])
    for row, done in of_horses:
        own[row.horse_id, done].append(row.minutes)
    planned = {}
    for horse, rows in services.items():
        wanted = frozenset(row.pk for row in rows)
        timed = [TimedService(facts_of(row), row.minutes) for row in rows]
        planned[horse] = planned_minutes(timed, own[horse, wanted], pooled[wanted])
    return {horse: known for horse, known in planned.items() if known}


def _with_services(times: QuerySet[HorseTime]) -> list[tuple[HorseTime, frozenset[int]]]:
    """Return times with the keys of the services that were done in each; without work there is no time."""
    rows = list(times)
    done = services_done({(row.visit_id, row.horse_id) for row in rows})
    return [(row, done[row.visit_id, row.horse_id]) for row in rows if (row.visit_id, row.horse_id) in done]


def services_done(pairs: Collection[tuple[int, int]]) -> dict[tuple[int, int], frozenset[int]]:
    """Return the keys of the services done at each of these visits on a horse."""
    keys = defaultdict(set)
    visits, horses = ({pair[which] for pair in pairs} for which in (0, 1))
    work = Work.objects.filter(visit__in=visits, horse__in=horses)
    for visit, horse, service in work.values_list("visit", "horse", "service"):
        keys[visit, horse].add(service)
    return {pair: frozenset(done) for pair, done in keys.items() if pair in pairs}


def in_words(minutes: int) -> str:
    """`about 56 min`, `about 1 h 20 min`, `about 2 h`."""
    hours, rest = divmod(minutes, 60)
    parts = [f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else ""]
    return f"about {' '.join(filter(None, parts))}"


def sum_of_times(planned: Iterable[PlannedMinutes | None]) -> int:
    return sum(known.minutes for known in planned if known)
