"""What the facts cost, worked out and stored beside them.

A ledger goes on from its shelf where new facts come last, else from the last checkpoint before them: adding
a fact takes the same time however long the ledger is, and one entered for an earlier day works out only
what follows it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.inserting import insert
from practice.lib.profile import Profile
from stock.models import Balance, Checkpoint, Location, Movement, Shelf, Valuation, ValuationChange
from stock.rules.costing import work_out
from stock.rules.facts import REVERSAL, USE, VISIT_RETURN, CostingState, Fact, Ledger

BATCH = 500
ROWS_BETWEEN_CHECKPOINTS = 200


@dataclass(frozen=True)
class LedgerBase:
    """Where working out a ledger begins: the last fact that stays, the rows up to it, the state after it."""

    through: Movement | None = None
    rows: int = 0
    state: dict = field(default_factory=dict)


def first_location() -> int | None:
    """Return the key of the first location; None where there is one shelf."""
    return Location.objects.order_by("pk").values_list("pk", flat=True).first()


def method_changes() -> list[tuple[date, str]]:
    """Return (day, method): the days from which another method holds, in order."""
    return list(ValuationChange.objects.order_by("valid_from").values_list("valid_from", "method"))


@transaction.atomic
def value_items(item_ids: Iterable[int]) -> list[str]:
    """Work out the whole ledger of these items again. Returns warnings, each with its item's name.

    Raises RuleBroken("return_exceeds_use") where more comes back from a visit than was used there.
    """
    return _value(dict.fromkeys(item_ids))


@transaction.atomic
def value_new(movements: list[Movement]) -> list[str]:
    """Cost facts just added, and cost what comes after them again. Returns warnings.

    Raises RuleBroken like `value_items`.
    """
    starts: dict[int, tuple] = {}
    for movement in movements:
        first = ledger_position(movement.reverses if movement.kind == REVERSAL else movement)
        starts[movement.item_id] = min(starts.get(movement.item_id, first), first)
    return _value(starts)


@transaction.atomic
def value_from(on: date) -> list[str]:
    """Work out again, for every item, what is on a day and after it. Returns warnings."""
    items = Movement.objects.filter(date__gte=on).order_by().values_list("item", flat=True).distinct()
    return _value(dict.fromkeys(items, (on, -1, 0, 0)))


def is_valued_as_stored(item_id: int) -> bool:
    """Whether what is stored of an item's ledger is what its facts come to, worked out from the start."""
    movements = list(Movement.objects.filter(item=item_id).costed().in_order())
    facts = _facts(movements, first_location())
    try:
        ledger = work_out(facts, Profile.current().valuation, changes=method_changes())
    except RuleBroken:
        return False
    stored = Valuation.objects.filter(item=item_id).order_by("position")
    rows = [
        (place, row.fact, row.kind, row.location, row.quantity, row.cost, row.on_hand, row.value)
        for place, row in enumerate(ledger.rows)
    ]
    columns = ("position", "movement", "kind", "location", "quantity", "cost", "on_hand", "value")
    shelf = Shelf.objects.filter(item=item_id).first() or Shelf(item_id=item_id)
    balances = dict(Balance.objects.filter(item=item_id).values_list("location", "quantity"))
    return (
        rows == list(stored.values_list(*columns))
        and (shelf.on_hand, shelf.value) == (ledger.state.quantity, ledger.state.value)
        and {place: n for place, n in balances.items() if n}
        == {place: n for place, n in ledger.state.at.items() if n}
    )


def ledger_position(movement: Movement) -> tuple:
    """Return what facts are sorted by: date, order within the day, order of entry."""
    return movement.date, movement.rank, movement.cause_order, movement.pk


def lock_shelves(item_ids: Iterable[int]) -> dict[int, Shelf]:
    """Return the shelves of items under a lock, by item key; made where missing, locked in one order."""
    ids = sorted(set(item_ids))
    Shelf.objects.bulk_create([Shelf(item_id=pk) for pk in ids], ignore_conflicts=True)
    locked = Shelf.objects.select_for_update(of=["self"]).select_related("item").filter(item__in=ids)
    return {shelf.item_id: shelf for shelf in locked.order_by("item_id")}


def _value(starts: dict[int, tuple | None]) -> list[str]:
    """Work out the ledgers of items from the position where each begins to change; None: from the start."""
    method, changes = Profile.current().valuation, method_changes()
    first, warnings = first_location(), []
    shelves = lock_shelves(starts)
    # Read after the lock is held: another writer may have moved the shelf on meanwhile.
    last_facts = Movement.objects.in_bulk(
        [shelf.through_id for shelf in shelves.values() if shelf.through_id]
    )
    for item_id, shelf in shelves.items():
        # Before there were locations, stock had none; now all of that is at the first, from the start.
        has_locations = first is None or all(key is not None for key, _ in shelf.state.get("at", ()))
        start = starts[item_id] if has_locations else None
        base, movements = _what_follows(shelf, last_facts.get(shelf.through_id), start)
        ledger = work_out(
            _facts(movements, first),
            method,
            CostingState.from_plain(base.state),
            changes=changes,
            rows_before=base.rows,
            mark_every=ROWS_BETWEEN_CHECKPOINTS,
        )
        _store(shelf, base, ledger, movements)
        warnings += [f"{shelf.item}: {warning}" for warning in dict.fromkeys(ledger.warnings)]
    return warnings


def _what_follows(
    shelf: Shelf, last: Movement | None, start: tuple | None
) -> tuple[LedgerBase, list[Movement]]:
    """Return where to go on from, and the facts that follow, with all those that they look back at."""
    while True:
        base = _base_before(shelf, last, start)
        movements = Movement.objects.filter(item=shelf.item_id).costed().in_order()
        movements = list(movements.after(ledger_position(base.through)) if base.through else movements)
        start = _looked_back_at(shelf.item_id, movements)
        if start is None or base.through is None or start > ledger_position(base.through):
            return base, movements


def _base_before(shelf: Shelf, last: Movement | None, start: tuple | None) -> LedgerBase:
    if start is None or last is None:
        return LedgerBase()
    if ledger_position(last) < start:
        return LedgerBase(last, shelf.positions, shelf.state)
    checkpoints = Checkpoint.objects.filter(item=shelf.item_id).before(start).select_related("through")
    last_one = checkpoints.order_by("-positions").first()
    return LedgerBase(last_one.through, last_one.positions, last_one.state) if last_one else LedgerBase()


def _looked_back_at(item_id: int, movements: list[Movement]) -> tuple | None:
    """Return the first position that returns (to the uses of their job) and late reversals look back at."""
    jobs = {movement.job for movement in movements if movement.kind == VISIT_RETURN}
    uses = Movement.objects.filter(item=item_id, kind=USE, job__in=jobs).costed().in_order()[:1]
    earlier = [movement.reverses for movement in movements if movement.kind == REVERSAL]
    return min((ledger_position(fact) for fact in (*earlier, *(uses if jobs else ()))), default=None)


def _facts(movements: list[Movement], first: int | None) -> Iterator[Fact]:
    """Yield movements as facts: one without a location is at the first, a return where its use was."""
    used_at = {movement.job: movement.location_id for movement in movements if movement.kind == USE}
    for movement in movements:
        location = movement.location_id
        if location is None and movement.kind == VISIT_RETURN:
            location = used_at.get(movement.job)
        yield Fact(
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


def _store(shelf: Shelf, base: LedgerBase, ledger: Ledger, movements: list[Movement]) -> None:
    if base.rows < shelf.positions:
        Valuation.objects.filter(item=shelf.item_id, position__gte=base.rows).delete()
        Checkpoint.objects.filter(item=shelf.item_id, positions__gt=base.rows).delete()
    for begin in range(0, len(ledger.rows), BATCH):
        rows = enumerate(ledger.rows[begin : begin + BATCH], start=base.rows + begin)
        insert(
            Valuation(
                item_id=shelf.item_id,
                position=position,
                movement_id=row.fact,
                kind=row.kind,
                location_id=row.location,
                quantity=row.quantity,
                cost=row.cost,
                on_hand=row.on_hand,
                value=row.value,
            )
            for position, row in rows
        )
    Checkpoint.objects.bulk_create(
        [
            Checkpoint(item_id=shelf.item_id, positions=mark.rows, through_id=mark.fact, state=mark.state)
            for mark in ledger.marks
        ],
        batch_size=BATCH,
    )
    state = ledger.state
    shelf.on_hand, shelf.value = state.quantity, state.value
    shelf.positions = base.rows + len(ledger.rows)
    shelf.through = movements[-1] if movements else base.through
    shelf.state = state.as_plain()
    shelf.save()
    _store_balances(shelf.item_id, state)


def _store_balances(item_id: int, state: CostingState) -> None:
    stored = {row.location_id: row for row in Balance.objects.filter(item=item_id)}
    for location, quantity in state.at.items():
        row = stored.pop(location, None)
        if row is None:
            Balance.objects.create(item_id=item_id, location_id=location, quantity=quantity)
        elif row.quantity != quantity:
            Balance.objects.filter(pk=row.pk).update(quantity=quantity)
    Balance.objects.filter(pk__in=[row.pk for row in stored.values()]).delete()
