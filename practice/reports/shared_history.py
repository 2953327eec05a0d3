"""The work on a client's horses, as the client may see it: days and services, no notes and no prices."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from practice.lib.formats import long_date
from practice.models import Client, Horse, Visit, Work

MOST = 24


@dataclass(frozen=True)
class SharedHorse:
    """A horse and what was done to it, the latest first: the day and the services, in words."""

    horse: Horse
    visits: list[tuple[str, str]]


def shared_history(client: Client, on: date, locale: str) -> list[SharedHorse]:
    """Return the horses that a client has a share in on a day, with the work since that share began."""
    shares = list(client.shares.on(on).select_related("horse").order_by("horse__name", "horse"))
    since = {share.horse_id: share.valid_from or date.min for share in shares}
    work = Work.objects.filter(horse__in=since, visit__status=Visit.Status.DONE)
    done: dict[int, dict[date, list[str]]] = defaultdict(lambda: defaultdict(list))
    for horse, day, service in work.order_by("-visit__date", "pk").values_list(
        "horse", "visit__date", "service__name"
    ):
        if since[horse] <= day <= on:
            done[horse][day].append(service)
    horses = {share.horse_id: share.horse for share in shares}
    return [
        SharedHorse(
            horse,
            [
                (long_date(day, locale), ", ".join(dict.fromkeys(services)))
                for day, services in list(done[key].items())[:MOST]
            ],
        )
        for key, horse in horses.items()
    ]
