"""What visits take from the shelf, and give back."""

from collections.abc import Iterable

from django.db import transaction

from practice.models import MaterialUse, Visit
from stock.actions.movements import NewFact, add_facts, reverse_movements
from stock.models import MovementKind


def job_key(visit_id: int, horse_id: int) -> str:
    """Return the key that the uses on a horse at a visit and their returns share."""
    return f"{visit_id}/{horse_id}"


def use_of(use: MaterialUse, visit: Visit) -> NewFact:
    """Return the fact of a use: it leaves the truck of the visit's vehicle, else the first location."""
    return NewFact(
        item=use.item,
        date=visit.date,
        kind=MovementKind.USE,
        quantity=use.quantity,
        location=visit.vehicle.location if visit.vehicle else None,
        job=job_key(visit.pk, use.horse_id),
        order=visit.pk,
    )


@transaction.atomic
def take_materials(visit: Visit, uses: Iterable[MaterialUse] | None = None) -> None:
    """Take a done visit's materials (or these of them) that have not left the shelf yet."""
    if uses is None:
        uses = visit.materials.filter(movement__isnull=True).select_related("item").order_by("pk")
    uses = list(uses)
    movements = add_facts([use_of(use, visit) for use in uses])
    for use, movement in zip(uses, movements, strict=True):
        use.movement = movement
    MaterialUse.objects.bulk_update(uses, ["movement"])


@transaction.atomic
def give_back_materials(visit: Visit, uses: Iterable[MaterialUse] | None = None) -> None:
    """Reverse what a visit's materials (or these of them) took from the shelf."""
    if uses is None:
        uses = visit.materials.filter(movement__isnull=False).select_related("movement")
    uses = [use for use in uses if use.movement_id]
    reverse_movements([use.movement for use in uses])
    for use in uses:
        use.movement = None
    MaterialUse.objects.bulk_update(uses, ["movement"])
