"""Facts of stock: added, never changed. A wrong one is undone by a new one that names it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from stock.actions.valuing import first_location, lock_shelves, value_new
from stock.models import Item, Location, Movement, MovementKind, Purchase, Supplier
from stock.rules.facts import RANK

# The late reversal of a fact of a closed day comes after the other facts of that kind on its own day.
LAST = 2**62


@dataclass(frozen=True)
class NewFact:
    """A fact to be added. Quantity in the item's unit; `cause_order` is when its cause was entered, if any.

    `location` None: the first one, or the one shelf. `job` is the key that a use shares with the
    returns of what it took.
    """

    item: Item
    date: date
    kind: str
    quantity: Decimal
    unit_cost: Decimal | None = None
    location: Location | None = None
    to_location: Location | None = None
    job: str = ""
    cause_order: int = 0
    note: str = ""


@transaction.atomic
def add_facts(facts: Sequence[NewFact]) -> list[Movement]:
    """Record facts and cost them; where one is entered before others, the later ones are costed again.

    Returns the movements in the order of `facts`. Raises RuleBroken("day_closed"), ("count_below_zero"),
    ("quantity_not_positive") or ("return_exceeds_use"); then nothing is changed.
    """
    profile = Profile.current()
    for fact in facts:
        profile.check_open(fact.date)
        if fact.kind == MovementKind.COUNT and fact.quantity < 0:
            raise RuleBroken("count_below_zero", f"{fact.item}: type a count of 0 or more.")
        if fact.kind != MovementKind.COUNT and fact.quantity <= 0:
            raise RuleBroken("quantity_not_positive", f"{fact.item}: type a quantity above 0.")
    movements = Movement.objects.bulk_create([movement_of(fact) for fact in facts], batch_size=500)
    value_new(movements)
    return movements


def movement_of(fact: NewFact) -> Movement:
    """Return the row of a fact, not saved."""
    return Movement(**vars(fact), rank=RANK[fact.kind])


@transaction.atomic
def reverse_movements(movements: Sequence[Movement]) -> list[Movement]:
    """Undo facts by new ones with their exact quantity and date; returns those, in order of entry.

    A fact of a closed day is undone on the first open day, at the cost that it had, and the note says
    which day that was. Raises RuleBroken("already_undone"), and ("return_exceeds_use") where more came
    back from a visit than would be left.
    """
    profile = Profile.current()
    lock_shelves(movement.item_id for movement in movements)
    movements = list(
        Movement.objects.select_related("item", "reversal")
        .filter(pk__in=[movement.pk for movement in movements])
        .order_by("pk")
    )
    reversals = []
    for movement in movements:
        if hasattr(movement, "reversal") or movement.reverses_id:
            raise RuleBroken("already_undone", f"{movement}: this is already undone.")
        on, note = profile.open_day(movement.date), ""
        if on != movement.date:
            note = f"Undoes an entry of {movement.date.isoformat()}, a closed day."
        reversals.append(
            Movement(
                item=movement.item,
                date=on,
                kind=MovementKind.REVERSAL,
                quantity=movement.quantity,
                location_id=movement.location_id,
                to_location_id=movement.to_location_id,
                reverses=movement,
                rank=movement.rank,
                cause_order=LAST,
                note=note,
            )
        )
    reversals = Movement.objects.bulk_create(reversals, batch_size=500)
    value_new(reversals)
    return reversals


def undo_fact(movement: Movement) -> Movement:
    """Undo one fact that was recorded by hand; return the fact that does it.

    Raises RuleBroken("use_belongs_to_visit"), ("undo_cannot_be_undone"), and as `reverse_movements`.
    """
    if movement.kind == MovementKind.USE:
        raise RuleBroken("use_belongs_to_visit", "A visit used this. Change the visit's materials.")
    if movement.kind == MovementKind.REVERSAL:
        raise RuleBroken("undo_cannot_be_undone", "This undoes an entry. Record that entry again.")
    return reverse_movements([movement])[0]


@transaction.atomic
def receive_item(
    item: Item,
    quantity: Decimal,
    unit_cost: Decimal,
    *,
    on: date,
    location: Location | None = None,
    supplier: Supplier | None = None,
    reference: str = "",
    paid_on: date | None = None,
    lot: str = "",
    use_by: date | None = None,
) -> Movement:
    """Receive a delivery: quantity in units, at the landed cost of one. Raises RuleBroken as `add_facts`."""
    [movement] = add_facts([NewFact(item, on, MovementKind.RECEIPT, quantity, unit_cost, location)])
    Purchase.objects.create(
        movement=movement, supplier=supplier, reference=reference, paid_on=paid_on, lot=lot, use_by=use_by
    )
    return movement


@transaction.atomic
def count_item(
    item: Item,
    counted: Decimal,
    *,
    on: date,
    location: Location | None = None,
    unit_cost: Decimal | None = None,
) -> Movement:
    """Record a count at the end of a day. `unit_cost` is used where no cost is known yet.

    A location is counted once a day: a later count undoes the one before it, and the same one typed
    twice is recorded once. Raises RuleBroken as `add_facts`.
    """
    lock_shelves([item.pk])
    for before in _counts_of(item, on, location):
        if (before.quantity, before.unit_cost) == (counted, unit_cost):
            return before
        reverse_movements([before])
    return add_facts([NewFact(item, on, MovementKind.COUNT, counted, unit_cost, location)])[0]


def _counts_of(item: Item, on: date, location: Location | None) -> list[Movement]:
    """Return the standing counts of a location on a day; a count without a location is at the first."""
    first = first_location()
    key = location.pk if location else first
    counts = Movement.objects.standing().filter(item=item, kind=MovementKind.COUNT, date=on)
    return [count for count in counts if (count.location_id or first) == key]


def waste_item(
    item: Item, quantity: Decimal, *, on: date, location: Location | None = None, note: str = ""
) -> Movement:
    """Record what was spoiled or lost. Raises RuleBroken as `add_facts`."""
    return add_facts([NewFact(item, on, MovementKind.WASTE, quantity, location=location, note=note)])[0]


def withdraw_item(
    item: Item, quantity: Decimal, *, on: date, location: Location | None = None, note: str = ""
) -> Movement:
    """Record what was used on the practice's own horses. Raises RuleBroken as `add_facts`."""
    return add_facts([NewFact(item, on, MovementKind.WITHDRAWAL, quantity, location=location, note=note)])[0]


def return_to_supplier(
    item: Item, quantity: Decimal, *, on: date, location: Location | None = None, note: str = ""
) -> Movement:
    """Record what went back to a supplier. Raises RuleBroken as `add_facts`."""
    fact = NewFact(item, on, MovementKind.SUPPLIER_RETURN, quantity, location=location, note=note)
    return add_facts([fact])[0]


def transfer_item(
    item: Item,
    quantity: Decimal,
    *,
    on: date,
    location: Location | None = None,
    to_location: Location,
    note: str = "",
) -> Movement:
    """Record what was moved to another location. Raises RuleBroken("same_location"), and as `add_facts`."""
    if to_location.pk == (location.pk if location else first_location()):
        raise RuleBroken("same_location", "It is already there. Choose a different location to move it to.")
    fact = NewFact(
        item,
        on,
        MovementKind.TRANSFER,
        quantity,
        location=location,
        to_location=to_location,
        note=note,
    )
    return add_facts([fact])[0]
