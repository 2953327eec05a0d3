"""What was done to a horse at a visit, and what it took: saved in one go."""

import uuid as uuids
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.db.models import Model

from practice.actions.findings import remove_findings
from practice.actions.materials import give_back_materials, take_materials
from practice.actions.visits import check_not_fixed, locked_visit
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Horse, MaterialUse, Service, Visit, Work
from stock.models import Item


@dataclass(frozen=True)
class WorkRow:
    """One service on the horse; `price` per unit, None: the price list. `uuid` is the writer's choice."""

    service: Service
    quantity: Decimal = Decimal(1)
    price: Decimal | None = None
    note: str = ""
    uuid: uuids.UUID | None = None


@dataclass(frozen=True)
class MaterialRow:
    """One use of material on the horse, in the item's unit; `foot` where it belongs to one."""

    item: Item
    quantity: Decimal
    foot: str = ""
    price: Decimal | None = None
    uuid: uuids.UUID | None = None


@transaction.atomic
def save_work(
    visit: Visit,
    horse: Horse,
    work: Sequence[WorkRow],
    materials: Sequence[MaterialRow],
    item_prices: Mapping[int, Decimal] | None = None,
) -> None:
    """Make these the horse's work and materials at the visit; rows that are the same stay untouched.

    At a done visit the shelf is corrected by new facts. On a locked visit what is billed stands; only
    materials without a price can change (`item_prices` are the items' prices on the visit's date).
    Saving the same thing twice changes nothing. Raises RuleBroken for closed days, for billed rows of
    a locked visit and for a quantity that is not above 0; then nothing is changed.
    """
    visit = locked_visit(visit)
    Profile.current().check_open(visit.date)
    if visit.status == Visit.Status.CANCELLED:
        raise RuleBroken("visit_cancelled", "This visit is canceled. Reopen it first.")
    if any(row.quantity <= 0 for row in (*work, *materials)):
        raise RuleBroken("quantity_not_positive", "Enter a quantity above 0.")
    recorded = visit.work.filter(horse=horse).order_by("pk")
    old, new = _difference(list(recorded), list(work), _work_values)
    gone, came = _difference(
        list(visit.materials.filter(horse=horse).select_related("movement", "item").order_by("pk")),
        list(materials),
        _material_values,
    )
    if visit.is_fixed:
        prices = item_prices or {}
        if old or new or any(_is_billed(row, prices) for row in (*gone, *came)):
            raise RuleBroken(
                "visit_fixed", "This visit is already billed. Only materials that are not billed can change."
            )
    give_back_materials(visit, [use for use in gone if use.movement_id])
    Work.objects.filter(pk__in=[row.pk for row in old]).delete()
    MaterialUse.objects.filter(pk__in=[row.pk for row in gone]).delete()
    Work.objects.bulk_create([_new_row(Work, visit, horse, row) for row in new])
    uses = MaterialUse.objects.bulk_create([_new_row(MaterialUse, visit, horse, row) for row in came])
    if visit.status == Visit.Status.DONE:
        take_materials(visit, uses)


@transaction.atomic
def take_horse_off(visit: Visit, horse: Horse) -> None:
    """Delete a horse's work, materials and shoeing record at a visit; what left the shelf for it is reversed.

    Findings stay, unless there is nothing else of the horse: then they were the wrong horse's, and so were
    their photos. Raises RuleBroken for a visit that is invoiced, billed before, cancelled or on a closed day,
    where materials came back later, and where there is nothing to take off; then nothing is changed.
    """
    visit = locked_visit(visit)
    check_not_fixed(visit)
    if visit.returns.filter(horse=horse, movement__reversal=None).exists():
        raise RuleBroken(
            "materials_returned",
            f"Materials of {horse} came back from this visit on a later day. Undo that return first.",
        )
    had_record = visit.feet.filter(horse=horse).delete()[0]
    has_work = visit.work.filter(horse=horse).exists() or visit.materials.filter(horse=horse).exists()
    if has_work:
        save_work(visit, horse, (), ())
        visit.times.filter(horse=horse).delete()
    elif not remove_findings(visit.findings.filter(horse=horse)) and not had_record:
        raise RuleBroken("horse_not_at_visit", f"Nothing is saved of {horse} at this visit.")


def _difference(recorded: list, wanted: list, values) -> tuple[list, list]:
    """Return the rows of the book that are no longer wanted, and the wanted ones that are not there."""
    wanted = list(wanted)
    gone = []
    for row in recorded:
        match = next((new for new in wanted if values(new) == values(row)), None)
        if match is None:
            gone.append(row)
        else:
            wanted.remove(match)
    return gone, wanted


def _work_values(row: Work | WorkRow) -> tuple:
    return row.service.pk, row.quantity, row.price, row.note


def _material_values(row: MaterialUse | MaterialRow) -> tuple:
    return row.item.pk, row.quantity, row.foot, row.price


def _is_billed(row: MaterialUse | MaterialRow, prices: Mapping[int, Decimal]) -> bool:
    return row.price is not None or prices.get(row.item.pk, row.item.sale_price) is not None


def _new_row(model: type[Model], visit: Visit, horse: Horse, row: WorkRow | MaterialRow) -> Model:
    """Return a row as its model, not saved."""
    return model(visit=visit, horse=horse, **vars(row) | {"uuid": row.uuid or uuids.uuid4()})
