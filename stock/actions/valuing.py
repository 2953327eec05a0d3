"""What the facts cost, worked out and kept beside them.

A ledger goes on from its shelf where new facts come last, else from the last checkpoint before them:
a fact costs the same however long the ledger is, and one entered behind works out only what follows.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from django.db import transaction

from practice.lib.profile import Profile
from stock.models import Balance, Checkpoint, Location, Movement, Shelf, Valuation, ValuationChange
from stock.rules.costing import work_out
from stock.rules.facts import REVERSAL, USE, VISIT_RETURN, CostingState, Fact, Ledger

BATCH = 500
ROWS_BETWEEN_CHECKPOINTS = 200


@dataclass(frozen=True)
class LedgerBase:
    """From where a ledger is worked out: the last fact that stays, the rows up to it, the state after it."""

    through: Movement | None = None
    rows: int = 0
    state: dict = field(default_factory=dict)


def first_location() -> int | None:
    """Return the key of the first location; None where there is one shelf."""
    return Location.objects.order_by("pk").values_list("pk", flat=True).first()


def method_changes() -> list[tuple[date, str]]:
    """Return the days from which another method holds, in order."""
    return list(ValuationChange.objects.order_by("valid_from").values_list("valid_from", "method"))


@transaction.atomic
def value_items(item_ids: Iterable[int]) -> list[str]:
    """Work out the whole ledger of these items anew. Returns warnings, each with its item's name.

    Raises RuleBroken where more comes back from a visit than was used there.
    """
    return _value(dict.fromkeys(item_ids))


@transaction.atomic
def value_new(movements: list[Movement]) -> list[str]:
    """Cost facts just added, and work out anew what stands behind them. Returns warnings.

    Raises RuleBroken like `value_items`.
    """
    starts: dict[int, tuple] = {}
    for movement in movements:
        first = place_in_ledger(movement.reverses if movement.kind == REVERSAL else movement)
        starts[movement.item_id] = min(starts.get(movement.item_id, first), first)
    return _value(starts)


@transaction.atomic
def value_from(on: date) -> list[str]:
    """Work out anew, for every item, what stands on a day and after it. Returns warnings."""
    items = Movement.objects.filter(date__gte=on).order_by().values_list("item", flat=True).distinct()
    return _value(dict.fromkeys(items, (on, -1, 0, 0)))


def place_in_ledger(movement: Movement) -> tuple:
    """Return what facts are sorted by: date, order within the day, order of entry."""
    return movement.date, movement.rank, movement.cause_order, movement.pk


def lock_shelves(item_ids: Iterable[int]) -> dict[int, Shelf]:
    """Return the shelves of items under a lock, made where they are missing, always in one order."""
    ids = sorted(set(item_ids))
    Shelf.objects.bulk_create([Shelf(item_id=pk) for pk in ids], ignore_conflicts=True)
    locked = Shelf.objects.select_for_update(of=["self"]).select_related("item").filter(item__in=ids)
    return {shelf.item_id: shelf for shelf in locked.order_by("item_id")}


def _value(starts: dict[int, tuple | None]) -> list[str]:
    """Work out the ledgers of items from the place where each begins to change; None: from the start."""
    method, changes = Profile.current().valuation, method_changes()
    first, warnings = first_location(), []
    shelves = lock_shelves(starts)
    # Read after the lock is held: another writer may have moved the shelf on meanwhile.
    last_facts = Movement.objects.in_bulk(
        [shelf.through_id for shelf in shelves.values() if shelf.through_id]
    )
    for item_id, shelf in shelves.items():
        # Before there were places, all lay at none; now that is the first place, from the start.
        placed = first is None or all(where is not None for where, _ in shelf.state.get("at", ()))
        start = starts[item_id] if placed else None
        base, movements = _what_follows(shelf, last_facts.get(shelf.through_id), start)
        ledger = work_out(
            _facts(movements, first),
            method,
            CostingState.from_plain(base.state),
            changes=changes,
            rows_before=base.rows,
            mark_every=ROWS_BETWEEN_CHECKPOINTS,
        )
        _keep(shelf, base, ledger, movements)
        warnings += [f"{shelf.item}: {warning}" for warning in dict.fromkeys(ledger.warnings)]
    return warnings


def _what_follows(
    shelf: Shelf, last: Movement | None, start: tuple | None
) -> tuple[LedgerBase, list[Movement]]:
    """Return from where to go on, and the facts that follow: also all those that they look back at."""
    while True:
        base = _base_before(shelf, last, start)
        movements = Movement.objects.filter(item=shelf.item_id).costed().in_order()
        movements = list(movements.after(place_in_ledger(base.through)) if base.through else movements)
        start = _looked_back_at(shelf.item_id, movements)
        if start is None or base.through is None or start > place_in_ledger(base.through):
            return base, movements


def _base_before(shelf: Shelf, last: Movement | None, start: tuple | None) -> LedgerBase:
    if start is None or last is None:
        return LedgerBase()
    if place_in_ledger(last) < start:
        return LedgerBase(last, shelf.positions, shelf.state)
    checkpoints = Checkpoint.objects.filter(item=shelf.item_id).before(start).select_related("through")
    found = checkpoints.order_by("-positions").first()
    return LedgerBase(found.through, found.positions, found.state) if found else LedgerBase()


def _looked_back_at(item_id: int, movements: list[Movement]) -> tuple | None:
    """Return the first place that returns (the uses of their job) and late reversals look back at."""
    jobs = {movement.job for movement in movements if movement.kind == VISIT_RETURN}
    uses = Movement.objects.filter(item=item_id, kind=USE, job__in=jobs).costed().in_order()[:1]
    earlier = [movement.reverses for movement in movements if movement.kind == REVERSAL]
    return min((place_in_ledger(fact) for fact in (*earlier, *(uses if jobs else ()))), default=None)


def _facts(movements: list[Movement], first: int | None) -> list[Fact]:
    """Return movements as facts: one that names no place is at the first, a return where its use left."""
    left = {movement.job: movement.location_id for movement in movements if movement.kind == USE}
    facts = []
    for movement in movements:
        location = movement.location_id
        if location is None and movement.kind == VISIT_RETURN:
            location = left.get(movement.job)
        fact = Fact(
            key=movement.pk,
            date=movement.date,
            kind=movement.kind,
            quantity=movement.quantity,
            unit_cost=movement.unit_cost,
            location=location or first,
            to_location=movement.to_location_id or first,
            job=movement.reverses.job if movement.kind == REVERSAL else movement.job,
            reverses=movement.reverses_id,
        )
        facts.append(fact)
    return facts


def _keep(shelf: Shelf, base: LedgerBase, ledger: Ledger, movements: list[Movement]) -> None:
    if base.rows < shelf.positions:
        Valuation.objects.filter(item=shelf.item_id, position__gte=base.rows).delete()
        Checkpoint.objects.filter(item=shelf.item_id, positions__gt=base.rows).delete()
    rows = [
        Valuation(
            item_id=shelf.item_id,
            position=place,
            movement_id=row.fact,
            kind=row.kind,
            location_id=row.location,
            quantity=row.quantity,
            cost=row.cost,
            on_hand=row.on_hand,
            value=row.value,
        )
        for place, row in enumerate(ledger.rows, start=base.rows)
    ]
    Valuation.objects.bulk_create(rows, batch_size=BATCH)
    Checkpoint.objects.bulk_create(
        [
            Checkpoint(item_id=shelf.item_id, positions=mark.rows, through_id=mark.fact, state=mark.state)
            for mark in ledger.marks
        ],
        batch_size=BATCH,
    )
    state = ledger.state
    shelf.on_hand, shelf.value = state.quantity, state.value
    shelf.positions = base.rows + len(rows)
    shelf.through = movements[-1] if movements else base.through
    shelf.state = state.as_plain()
    shelf.save()
    _keep_balances(shelf.item_id, state)


def _keep_balances(item_id: int, state: CostingState) -> None:
    kept = {row.location_id: row for row in Balance.objects.filter(item=item_id)}
    for location, quantity in state.at.items():
        row = kept.pop(location, None)
        if row is None:
            Balance.objects.create(item_id=item_id, location_id=location, quantity=quantity)
        elif row.quantity != quantity:
            Balance.objects.filter(pk=row.pk).update(quantity=quantity)
    Balance.objects.filter(pk__in=[row.pk for row in kept.values()]).delete()


def balances_that_differ() -> list[tuple[int, str]]:
    """Return (item key, what differs) where what is kept is not what the ledger's rows add up to.

    Compared are on hand and value of each shelf, and the balance at each location.
    """
    quantities, values, found = defaultdict(lambda: defaultdict(int)), defaultdict(int), []
    rows = Valuation.objects.values_list("item", "location", "quantity", "cost")
    for item_id, location, quantity, cost in rows.iterator(chunk_size=5000):
        quantities[item_id][location] += quantity
        values[item_id] += cost
    balances = defaultdict(dict)
    for item_id, location, quantity in Balance.objects.values_list("item", "location", "quantity"):
        balances[item_id][location] = quantity
    for shelf in Shelf.objects.order_by("item"):
        kept = shelf.on_hand, shelf.value, balances[shelf.item_id]
        there = quantities[shelf.item_id]
        added_up = sum(there.values()), values[shelf.item_id], dict(there)
        if kept != added_up:
            found.append((shelf.item_id, f"{_said(*kept)} kept, {_said(*added_up)} in the ledger"))
    return found


def _said(on_hand, value, balances: dict) -> str:
    places = ", ".join(f"{quantity:f}" for quantity in balances.values())
    return f"{on_hand:f} ({places}) worth {value:f}"
