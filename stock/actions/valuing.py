"""What the facts cost, worked out and kept beside them."""

from collections import defaultdict
from collections.abc import Iterable

from django.db import transaction
from django.db.models import F, Q

from practice.lib.profile import Profile
from stock.costing import work_out
from stock.facts import REVERSAL, Fact, Ledger, State
from stock.models import Balance, Item, Location, Movement, Shelf, Valuation

CHUNK = 500


def first_location() -> int | None:
    """Return the key of the first location; None where there is one shelf."""
    return Location.objects.order_by("pk").values_list("pk", flat=True).first()


@transaction.atomic
def value_items(item_ids: Iterable[int]) -> list[str]:
    """Work out the whole ledger of these items anew. Returns warnings, each with its item's name.

    Raises RuleBroken where more comes back from a visit than was used there.
    """
    ids = sorted(set(item_ids))
    shelves, names, facts_of = _locked(ids), dict(Item.objects.values_list("pk", "name")), _facts_of(ids)
    method, warnings = Profile.current().valuation, []
    Valuation.objects.filter(item__in=ids).delete()
    for item_id in ids:
        ledger = work_out(facts_of[item_id], method)
        _keep(shelves[item_id], ledger, facts_of[item_id], position=0)
        warnings += [f"{names[item_id]}: {warning}" for warning in dict.fromkeys(ledger.warnings)]
    return warnings


@transaction.atomic
def value_new(movements: list[Movement]) -> list[str]:
    """Cost facts just added: from where the ledger stands if they come last, else the whole item anew.

    Returns warnings. Raises RuleBroken like `value_items`.
    """
    behind, warnings, by_item = set(), [], defaultdict(list)
    for movement in movements:
        by_item[movement.item_id].append(movement)
    shelves = _locked(sorted(by_item))
    method, first = Profile.current().valuation, first_location()
    for item_id, added in by_item.items():
        added.sort(key=place_in_ledger)
        shelf = shelves[item_id]
        takes_back = any(movement.kind == REVERSAL for movement in added)
        if takes_back or (shelf.through and place_in_ledger(added[0]) <= place_in_ledger(shelf.through)):
            behind.add(item_id)
            continue
        facts = [_fact(movement, first) for movement in added]
        ledger = work_out(facts, method, State.from_plain(shelf.state))
        _keep(shelf, ledger, facts, position=shelf.positions)
        warnings += [f"{added[0].item.name}: {warning}" for warning in dict.fromkeys(ledger.warnings)]
    return warnings + (value_items(behind) if behind else [])


def place_in_ledger(movement: Movement) -> tuple:
    """Return what facts are sorted by: date, order within the day, order of entry."""
    return movement.date, movement.rank, movement.cause_order, movement.pk


def _locked(ids: list[int]) -> dict[int, Shelf]:
    """Return the shelves of items under a lock, made where they are missing, always in one order."""
    Shelf.objects.bulk_create([Shelf(item_id=pk) for pk in ids], ignore_conflicts=True)
    shelves = Shelf.objects.select_for_update(of=["self"]).select_related("through").filter(item__in=ids)
    return {shelf.item_id: shelf for shelf in shelves.order_by("item_id")}


def _facts_of(ids: list[int]) -> dict[int, list[Fact]]:
    """Return the facts that count, by item, in ledger order: pairs of one day are left out."""
    movements = (
        Movement.objects.filter(item__in=ids)
        .select_related("reverses")
        .exclude(reverses__isnull=False, reverses__date=F("date"))
        .exclude(Q(reversal__isnull=False) & Q(reversal__date=F("date")))
        .in_order()
    )
    first, result = first_location(), defaultdict(list)
    for movement in movements.iterator(chunk_size=5000):
        result[movement.item_id].append(_fact(movement, first))
    return result


def _fact(movement: Movement, first: int | None) -> Fact:
    return Fact(
        key=movement.pk,
        date=movement.date,
        kind=movement.kind,
        quantity=movement.quantity,
        unit_cost=movement.unit_cost,
        location=movement.location_id or first,
        to_location=movement.to_location_id or first,
        job=movement.job,
        reverses=movement.reverses_id,
    )


def _keep(shelf: Shelf, ledger: Ledger, facts: list[Fact], position: int) -> None:
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
        for place, row in enumerate(ledger.rows, start=position)
    ]
    Valuation.objects.bulk_create(rows, batch_size=CHUNK)
    state = ledger.state
    shelf.on_hand, shelf.value = state.quantity, state.value
    shelf.positions = position + len(rows)
    shelf.through_id = facts[-1].key if facts else (shelf.through_id if position else None)
    shelf.state = state.as_plain()
    shelf.save()
    _keep_balances(shelf.item_id, state)


def _keep_balances(item_id: int, state: State) -> None:
    kept = {row.location_id: row for row in Balance.objects.filter(item=item_id)}
    for location, quantity in state.at.items():
        row = kept.pop(location, None)
        if row is None:
            Balance.objects.create(item_id=item_id, location_id=location, quantity=quantity)
        elif row.quantity != quantity:
            Balance.objects.filter(pk=row.pk).update(quantity=quantity)
    Balance.objects.filter(pk__in=[row.pk for row in kept.values()]).delete()


def balances_that_differ() -> list[tuple[int, str]]:
    """Return (item key, what differs) where a kept balance is not what the ledger's rows add up to."""
    found = []
    for shelf in Shelf.objects.select_related("item"):
        rows = Valuation.objects.filter(item=shelf.item_id).values_list("quantity", "cost")
        quantity, value = sum((row[0] for row in rows), 0), sum((row[1] for row in rows), 0)
        balances = sum(Balance.objects.filter(item=shelf.item_id).values_list("quantity", flat=True), 0)
        if not quantity == shelf.on_hand == balances or value != shelf.value:
            found.append((shelf.item_id, f"{shelf.on_hand} and {balances} kept, {quantity} in the ledger"))
    return found
