"""What caused a fact of stock: the horse at its visit."""

from collections.abc import Iterable

from practice.actions.materials import visit_and_horse
from practice.models import Horse, Visit


def causes_of(jobs: Iterable[str]) -> dict[str, tuple[str, str]]:
    """Return what jobs stand for, by job: the horse with its place, and the address of its form there."""
    keys = {job: visit_and_horse(job) for job in jobs}
    visits = Visit.objects.select_related("place").in_bulk({visit for visit, _ in keys.values()})
    horses = Horse.objects.in_bulk({horse for _, horse in keys.values()})
    return {
        job: (f"{horses[horse]}, {visits[visit].place}", visits[visit].horse_url(horses[horse]))
        for job, (visit, horse) in keys.items()
        if visit in visits and horse in horses
    }
