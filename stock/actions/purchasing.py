"""Orders: placed, changed while nothing came, received whole or in part, cancelled whole or in part."""

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
    """What came of an order's line: units, and the price of one without freight and tax; its lot, if any."""

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
    """Write an order down, with a number of its own. `key`: saved twice with the same one, it is one order.

    Raises RuleBroken for a day that is closed for good, no lines, less than one pack, or an item twice.
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
    """Order something else instead. An item that was on the order keeps its pack size.

    Raises RuleBroken as `place_order`, and where something came already or was cancelled.
    """
    order = _locked(order)
    if Purchase.objects.filter(order_line__order=order).exists():
        raise RuleBroken("Something of this order came already. Cancel what does not come, and order anew.")
    if order.lines.filter(cancelled__gt=0).exists():
        raise RuleBroken("Something of this order is cancelled already. Order the rest anew.")
    profile = Profile.current()
    profile.check_open(order.ordered_on)
    profile.check_open(on)
    pack_sizes = dict(order.lines.values_list("item", "pack_size"))
    order.lines.all().delete()
    order.supplier, order.ordered_on, order.note = supplier, on, note
    order.save(update_fields=["supplier", "ordered_on", "note"])
    _write_lines(order, lines, pack_sizes)
    return order


def _locked(order: Order) -> Order:
    return Order.objects.select_for_update().get(pk=order.pk)


def _write_lines(order: Order, lines: Sequence[NewLine], pack_sizes: dict[int, Decimal]) -> None:
    if not lines:
        raise RuleBroken("An order needs at least one pack of something.")
    if len({line.item.pk for line in lines}) < len(lines):
        raise RuleBroken("An item stands twice on the order.")
    rows = []
    for line in lines:
        pack_size = pack_sizes.get(line.item.pk, line.item.pack_size)
        if line.packs < 1:
            raise RuleBroken(f"{line.item}: order at least one pack.")
        if line.packs * pack_size >= LIMIT:
            raise RuleBroken(f"{line.item}: {line.packs} packs are too many.")
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
    """Make one order per supplier of (item, packs), in the order of their first item; returns them.

    Items without a supplier go on one order without a supplier. The price of one is what was
    expected of the item last. Raises RuleBroken as `place_order`; then none is made.
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
    """Take in a delivery of an order, whole or in part; returns the receipts in the order of `rows`.

    Each is written down at its landed cost (`landed_unit_costs`): the price that came, whatever was
    expected, with its part of the freight and of the tax that is not recovered. More than was ordered may
    come. `receipts_before`: how many receipts of the order the reader had seen; others since are an error.

    Raises RuleBroken for nothing received, a line of another order or one that stands twice, a quantity
    that is not above 0, a price below 0, freight or tax below 0 or finer than the currency, a day before
    the order or closed for good; then nothing is taken in.
    """
    order = _locked(order)
    came = Purchase.objects.filter(order_line__order=order).count()
    if receipts_before is not None and came != receipts_before:
        raise RuleBroken("Something of this order came in meanwhile. Look at what is still to come.")
    _check_delivery(order, rows, on)
    currency = Profile.current().currency
    extra = freight + tax
    if min(freight, tax) < 0 or extra != round_money(extra, currency):
        raise RuleBroken(f"Freight and tax are amounts in {currency} of at least 0.")
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
        raise RuleBroken("Nothing came: type how many came of one thing at least.")
    if on < order.ordered_on:
        raise RuleBroken(
            f"{on.isoformat()} is before the order, which was placed on {order.ordered_on.isoformat()}."
        )
    if len({row.line.pk for row in rows}) < len(rows):
        raise RuleBroken("A line of the order stands twice in the delivery.")
    for row in rows:
        if row.line.order_id != order.pk:
            raise RuleBroken(f"{row.line.item} is a line of another order.")
        if row.quantity <= 0:
            raise RuleBroken(f"{row.line.item}: the quantity has to be above 0.")
        if row.unit_price < 0:
            raise RuleBroken(f"{row.line.item}: the price has to be at least 0.")


@transaction.atomic
def cancel_order_line(line: OrderLine, quantity: Decimal) -> OrderLine:
    """Give up so many units of a line that have not come. Raises RuleBroken for more than are to come."""
    _locked(line.order)
    line = OrderLine.objects.with_received().select_related("item").get(pk=line.pk)
    if quantity <= 0:
        raise RuleBroken("Type how many do not come, such as 10.")
    if quantity > line.to_come:
        raise RuleBroken(f"{line.item}: only {line.to_come:f} are still to come.")
    line.cancelled += quantity
    line.save(update_fields=["cancelled"])
    return line


@transaction.atomic
def cancel_rest(order: Order) -> None:
    """Give up all of an order that has not come. Raises RuleBroken where nothing is to come."""
    order = _locked(order)
    lines = list(OrderLine.objects.open().filter(order=order))
    if not lines:
        raise RuleBroken("Nothing of this order is still to come.")
    for line in lines:
        line.cancelled += line.to_come
        line.save(update_fields=["cancelled"])
