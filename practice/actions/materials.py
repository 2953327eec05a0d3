"""What visits take from the shelf, and give back."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.models import Horse, MaterialReturn, MaterialUse, Visit
from stock.actions.movements import NewFact, add_facts, reverse_movements
from stock.models import Item, Location, MovementKind


def job_key(visit_id: int, horse_id: int) -> str:
    """Return the key that the uses on a horse at a visit and their returns share."""
    return f"{visit_id}/{horse_id}"


def visit_and_horse(job: str) -> tuple[int, int]:
    """Return the keys of the visit and the horse that a job is; (0, 0) for anything else."""
    visit, _, horse = job.partition("/")
    return (int(visit), int(horse)) if visit.isdigit() and horse.isdigit() else (0, 0)


def use_of(use: MaterialUse, visit: Visit) -> NewFact:
    """Return the fact of a use: it leaves the truck of the visit's vehicle, else the first location."""
    return NewFact(
        item=use.item,
        date=visit.date,
        kind=MovementKind.USE,
        quantity=use.quantity,
        location=visit.vehicle.location if visit.vehicle else None,
        job=job_key(visit.pk, use.horse_id),
        cause_order=visit.pk,
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


@dataclass(frozen=True)
class UnreturnedMaterial:
    """What is still out of an item at a horse of a visit: used there, and not come back."""

    horse: Horse
    item: Item
    quantity: Decimal


def still_out(visit: Visit) -> list[UnreturnedMaterial]:
    """Return what of a done visit's materials has not come back, by horse and item in order of entry."""
    used: dict[tuple[Horse, Item], Decimal] = defaultdict(Decimal)
    uses = visit.materials.filter(movement__isnull=False).select_related("horse", "item").order_by("pk")
    for use in uses:
        used[use.horse, use.item] += use.quantity
    returns = visit.returns.filter(movement__reversal=None).select_related("horse", "movement__item")
    for back in returns:
        used[back.horse, back.movement.item] -= back.movement.quantity
    return [
        UnreturnedMaterial(horse, item, quantity) for (horse, item), quantity in used.items() if quantity > 0
    ]


@transaction.atomic
def return_materials(
    visit: Visit,
    came_back: Sequence[tuple[Horse, Item, Decimal]],
    *,
    on: date,
    location: Location | None = None,
    note: str = "",
) -> list[MaterialReturn]:
    """Write down what of a visit's materials came back on a later day, to where it left or to a place named.

    Raises RuleBroken for the day of the visit or one before, for a closed day, for nothing, and for
    more than was used there.
    """
    if not came_back:
        raise RuleBroken("nothing_returned", "Enter what came back.")
    if on <= visit.date:
        raise RuleBroken(
            "return_too_early",
            f"Enter a day after the visit on {visit.date.isoformat()}. If something was not used"
            " at all, change the horse's work instead.",
        )
    facts = [
        NewFact(
            item=item,
            date=on,
            kind=MovementKind.VISIT_RETURN,
            quantity=quantity,
            location=location,
            job=job_key(visit.pk, horse.pk),
            note=note,
        )
        for horse, item, quantity in came_back
    ]
    returns = [
        MaterialReturn(movement=movement, visit=visit, horse=horse)
        for movement, (horse, _, _) in zip(add_facts(facts), came_back, strict=True)
    ]
    return MaterialReturn.objects.bulk_create(returns)
