"""Orders: placed, changed while nothing has come, received or canceled in whole or in part."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.millionths import LIMIT
from practice.lib.money import round_money
from practice.lib.profile import Profile
from stock.actions.movements import NewFact, add_facts
from stock.models import Item, Location, Movement, MovementKind, Order, OrderLine, Purchase, Supplier
from stock.reports.orders import last_prices
from stock.rules.landing import landed_unit_costs


@dataclass(frozen=True)
class NewLine:
    """So many packs of an item; `unit_price` is what one unit is expected to cost, None = not known."""

    item: Item
    packs: int
    unit_price: Decimal | None = None


@dataclass(frozen=True)
class ReceivedLine:
    """What came for an order's line: units, the price of one before freight and tax, and its lot, if any."""

    line: OrderLine
    quantity: Decimal
    unit_price: Decimal
    lot: str = ""
    use_by: date | None = None


@transaction.atomic
def place_order(
    supplier: Supplier | None,
    lines: Sequence[NewLine],
    *,
    on: date,
    note: str = "",
    key: UUID | None = None,
) -> Order:
    """Save an order with a number of its own. `key`: saved twice with the same one, it is one order.

    Raises RuleBroken("day_closed"), ("order_is_empty"), ("item_ordered_twice"), ("packs_not_positive") or
    ("too_many_packs").
    """
    profile = Profile.locked()
    if key and (before := Order.objects.filter(uuid=key).first()):
        return before
    profile.check_open(on)
    order = Order(supplier=supplier, ordered_on=on, note=note, ref=next_ref(on))
    if key:
        order.uuid = key
    order.save()
    _write_lines(order, lines, pack_sizes={})
    return order


def next_ref(on: date) -> str:
    """Return the next free number of an order, `O-2026-0001`, counting each year from 0001."""
    head = f"O-{on.year}-"
    refs = Order.objects.filter(ref__startswith=head).values_list("ref", flat=True)
    counts = [ref.removeprefix(head) for ref in refs]
    return f"{head}{max((int(n) for n in counts if n.isascii() and n.isdigit()), default=0) + 1:04d}"


@transaction.atomic
def change_order(
    order: Order, supplier: Supplier | None, lines: Sequence[NewLine], *, on: date, note: str = ""
) -> Order:
    """Replace what was ordered. An item that was on the order keeps its pack size.

    Raises RuleBroken("order_has_deliveries"), ("order_is_canceled"), ("expected_before_order"), and as
    `place_order`.
    """
    order = _locked(order)
    if Purchase.objects.filter(order_line__order=order).exists():
        raise RuleBroken(
            "order_has_deliveries",
            "Part of this order has come. Cancel what you no longer want, and place a new order.",
        )
    if order.lines.filter(cancelled__gt=0).exists():
        raise RuleBroken("order_is_canceled", "Part of this order is canceled. Place a new order instead.")
    profile = Profile.current()
    profile.check_open(order.ordered_on)
    profile.check_open(on)
    _check_expected(order.expected_on, on)
    pack_sizes = dict(order.lines.values_list("item", "pack_size"))
    order.lines.all().delete()
    order.supplier, order.ordered_on, order.note = supplier, on, note
    order.save(update_fields=["supplier", "ordered_on", "note"])
    _write_lines(order, lines, pack_sizes)
    return order


@transaction.atomic
def expect_order(order: Order, day: date | None) -> Order:
    """Save the day on which what is still to come is expected; None: by the lead time of each item.

    Raises RuleBroken("nothing_to_come") or ("expected_before_order").
    """
    order = _locked(order)
    if not OrderLine.objects.open().filter(order=order).exists():
        raise RuleBroken("nothing_to_come", "Nothing of this order is still to come.")
    _check_expected(day, order.ordered_on)
    order.expected_on = day
    order.save(update_fields=["expected_on"])
    return order


def _check_expected(day: date | None, ordered_on: date) -> None:
    if day and day < ordered_on:
        raise RuleBroken(
            "expected_before_order",
            f"The order is expected on {day.isoformat()}, before it was placed, on {ordered_on.isoformat()}."
            " Check both dates.",
        )


def _locked(order: Order) -> Order:
    return Order.objects.select_for_update().get(pk=order.pk)


def _write_lines(order: Order, lines: Sequence[NewLine], pack_sizes: dict[int, Decimal]) -> None:
    if not lines:
        raise RuleBroken("order_is_empty", "Order at least one pack of something.")
    if len({line.item.pk for line in lines}) < len(lines):
        raise RuleBroken("item_ordered_twice", "An item is on the order twice. Put its packs on one line.")
    rows = []
    for line in lines:
        pack_size = pack_sizes.get(line.item.pk, line.item.pack_size)
        if line.packs < 1:
            raise RuleBroken("packs_not_positive", f"{line.item}: order at least one pack.")
        if line.packs * pack_size >= LIMIT:
            raise RuleBroken("too_many_packs", f"{line.item}: {line.packs} packs are too many. Order fewer.")
        rows.append(
            OrderLine(
                order=order,
                item=line.item,
                quantity=line.packs * pack_size,
                pack_size=pack_size,
                unit_price=line.unit_price,
            )
        )
    OrderLine.objects.bulk_create(rows)


@transaction.atomic
def order_suggestions(rows: Iterable[tuple[Item, int]], on: date) -> list[Order]:
    """Place one order per supplier for (item, packs), in the order of their first item; returns them.

    Items without a supplier go on one order without a supplier. The unit price is the last one that was
    expected for the item. Raises RuleBroken as `place_order`; then none is placed.
    """
    by_supplier: dict[int | None, list[tuple[Item, int]]] = {}
    for item, packs in rows:
        by_supplier.setdefault(item.supplier_id, []).append((item, packs))
    suppliers = Supplier.objects.in_bulk([pk for pk in by_supplier if pk])
    prices = last_prices()
    return [
        place_order(
            suppliers.get(supplier),
            [NewLine(item, packs, prices.get(item.pk)) for item, packs in wanted],
            on=on,
        )
        for supplier, wanted in by_supplier.items()
    ]


@transaction.atomic
def receive_order(
    order: Order,
    rows: Sequence[ReceivedLine],
    *,
    on: date,
    location: Location | None = None,
    freight: Decimal = Decimal(0),
    tax: Decimal = Decimal(0),
    reference: str = "",
    paid_on: date | None = None,
    receipts_before: int | None = None,
) -> list[Movement]:
    """Receive a delivery of an order, in whole or in part; returns the receipts in the order of `rows`.

    Each is recorded at its landed cost (`landed_unit_costs`): the price charged, whatever was expected,
    with its share of the freight and of the tax that is not recovered. More than was ordered may come.
    `receipts_before`: how many receipts of the order the reader had seen; more since then are an error.

    Raises RuleBroken("order_received_meanwhile"), ("delivery_is_empty"), ("delivery_before_order"),
    ("line_received_twice"), ("line_of_another_order"), ("quantity_not_positive"), ("price_below_zero"),
    ("freight_or_tax_invalid") for one below 0 or with too many decimals, or ("day_closed"); then nothing
    is received.
    """
    order = _locked(order)
    receipts = Purchase.objects.filter(order_line__order=order).count()
    if receipts_before is not None and receipts != receipts_before:
        raise RuleBroken(
            "order_received_meanwhile",
            "Part of this order came in the meantime. Check what is still to come, then try again.",
        )
    _check_delivery(order, rows, on)
    currency = Profile.current().currency
    extra = freight + tax
    if min(freight, tax) < 0 or extra != round_money(extra, currency):
        raise RuleBroken(
            "freight_or_tax_invalid",
            f"Type freight and tax as amounts of 0 or more, with no more decimals than {currency} has.",
        )
    costs = landed_unit_costs([(row.quantity, row.unit_price) for row in rows], extra, currency)
    movements = add_facts(
        [
            NewFact(row.line.item, on, MovementKind.RECEIPT, row.quantity, cost, location)
            for row, cost in zip(rows, costs, strict=True)
        ]
    )
    Purchase.objects.bulk_create(
        [
            Purchase(
                movement=movement,
                supplier_id=order.supplier_id,
                reference=reference,
                paid_on=paid_on,
                order_line=row.line,
                lot=row.lot,
                use_by=row.use_by,
            )
            for row, movement in zip(rows, movements, strict=True)
        ]
    )
    return movements


def _check_delivery(order: Order, rows: Sequence[ReceivedLine], on: date) -> None:
    if not rows:
        raise RuleBroken("delivery_is_empty", "Type how many came of at least one item.")
    if on < order.ordered_on:
        raise RuleBroken(
            "delivery_before_order",
            f"{on.isoformat()} is before the order was placed, on {order.ordered_on.isoformat()}."
            " Check the date.",
        )
    if len({row.line.pk for row in rows}) < len(rows):
        raise RuleBroken("line_received_twice", "An item is in the delivery twice. Add the quantities up.")
    for row in rows:
        if row.line.order_id != order.pk:
            raise RuleBroken(
                "line_of_another_order", f"{row.line.item} is on another order. Receive it on that order."
            )
        if row.quantity <= 0:
            raise RuleBroken("quantity_not_positive", f"{row.line.item}: type a quantity above 0.")
        if row.unit_price < 0:
            raise RuleBroken("price_below_zero", f"{row.line.item}: type a price of 0 or more.")


@transaction.atomic
def cancel_order_line(line: OrderLine, quantity: Decimal) -> OrderLine:
    """Cancel so many units of a line that have not come.

    Raises RuleBroken("quantity_not_positive") or ("more_than_to_come").
    """
    _locked(line.order)
    line = OrderLine.objects.with_received().select_related("item").get(pk=line.pk)
    if quantity <= 0:
        raise RuleBroken("quantity_not_positive", "Type how many to cancel, such as 10.")
    if quantity > line.to_come:
        raise RuleBroken(
            "more_than_to_come",
            f"{line.item}: only {line.to_come:f} still to come. Cancel that many or fewer.",
        )
    line.cancelled += quantity
    line.save(update_fields=["cancelled"])
    return line


@transaction.atomic
def cancel_rest(order: Order) -> None:
    """Cancel everything on an order that has not come. Raises RuleBroken("nothing_to_come")."""
    order = _locked(order)
    lines = list(OrderLine.objects.open().filter(order=order))
    if not lines:
        raise RuleBroken("nothing_to_come", "Nothing is left to cancel: nothing is still to come.")
    for line in lines:
        line.cancelled += line.to_come
        line.save(update_fields=["cancelled"])
