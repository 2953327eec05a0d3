"""Orders: placed, changed, received in part, cancelled in part; what is on order."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import UUID

import pytest

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from stock.actions.movements import reverse_movements
from stock.actions.purchasing import (
    NewLine,
    ReceivedLine,
    cancel_order_line,
    cancel_rest,
    change_order,
    expect_order,
    order_suggestions,
    place_order,
    receive_order,
)
from stock.models import Movement, Order, OrderLine, Purchase, Valuation
from stock.reports.orders import ExpectedDelivery, deliveries, on_order, order_sheet
from tests.factories.stock import ItemFactory, LocationFactory, OrderLineFactory, SupplierFactory

pytestmark = pytest.mark.django_db
DAY = date(2026, 10, 14)
D = Decimal


def lines_of(order):
    return [
        (line.item, line.packs, line.pack_size, line.quantity, line.unit_price)
        for line in order.lines.order_by("pk")
    ]


def came(line, quantity, on=DAY, unit_price="3.40", **more):
    return receive_order(line.order, [ReceivedLine(line, D(quantity), D(unit_price))], on=on, **more)


# Placing and changing


def test_an_order_keeps_packs_at_the_pack_size_of_its_day():
    shoe, nail = ItemFactory(pack_size=10), ItemFactory(pack_size=D(250))

    order = place_order(SupplierFactory(), [NewLine(shoe, 2, D("3.40")), NewLine(nail, 1)], on=DAY)
    shoe.pack_size = D(12)
    shoe.save()

    assert lines_of(order) == [(shoe, 2, 10, 20, D("3.4")), (nail, 1, 250, 250, None)]


def test_orders_are_numbered_by_year_behind_those_that_are_there():
    shoe = ItemFactory()
    Order.objects.create(ref="O-2026-0041", ordered_on=DAY)
    Order.objects.create(ref="O-2026-spring", ordered_on=DAY)

    refs = [place_order(None, [NewLine(shoe, 1)], on=on).ref for on in (DAY, DAY, date(2027, 1, 2))]

    assert refs == ["O-2026-0042", "O-2026-0043", "O-2027-0001"]


def test_an_order_saved_twice_with_one_key_is_one_order():
    key, shoe = UUID(int=7), ItemFactory()

    first = place_order(None, [NewLine(shoe, 1)], on=DAY, key=key)
    second = place_order(None, [NewLine(shoe, 1)], on=DAY, key=key)

    assert (first, OrderLine.objects.count()) == (second, 1)


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ("nothing", "order_is_empty"),
        ("no pack", "packs_not_positive"),
        ("twice", "item_ordered_twice"),
        ("too many", "too_many_packs"),
    ],
)
def test_an_order_that_cannot_be_is_refused(wrong, code):
    shoe = ItemFactory(pack_size=D(10))
    lines = {
        "nothing": [],
        "no pack": [NewLine(shoe, 0)],
        "twice": [NewLine(shoe, 1), NewLine(shoe, 2)],
        "too many": [NewLine(shoe, 10**12)],
    }

    with pytest.raises(RuleBroken) as refused:
        place_order(None, lines[wrong], on=DAY)

    assert (refused.value.code, Order.objects.count()) == (code, 0)


def test_nothing_is_ordered_on_a_closed_day():
    Profile.objects.create(name="x", closed_through=DAY)

    with pytest.raises(RuleBroken):
        place_order(None, [NewLine(ItemFactory(), 1)], on=DAY)

    assert Order.objects.count() == 0


def test_an_order_of_which_nothing_came_is_changed():
    shoe, nail, supplier = ItemFactory(pack_size=10), ItemFactory(), SupplierFactory()
    order = place_order(None, [NewLine(shoe, 2)], on=DAY)
    shoe.pack_size = D(12)
    shoe.save()

    change_order(order, supplier, [NewLine(nail, 1), NewLine(shoe, 3)], on=DAY + timedelta(1), note="ring")

    order.refresh_from_db()
    assert (order.supplier, order.ordered_on, order.note) == (supplier, DAY + timedelta(1), "ring")
    assert lines_of(order) == [(nail, 1, 1, 1, None), (shoe, 3, 10, 30, None)]


@pytest.mark.parametrize(
    ("touch", "code"),
    [
        ("received", "order_has_deliveries"),
        ("received and undone", "order_has_deliveries"),
        ("canceled", "order_is_canceled"),
    ],
)
def test_an_order_that_was_touched_is_not_changed_any_more(touch, code):
    line = OrderLineFactory()
    if touch == "canceled":
        cancel_order_line(line, D(1))
    else:
        movements = came(line, 5)
        if touch == "received and undone":
            reverse_movements(movements)

    with pytest.raises(RuleBroken) as refused:
        change_order(line.order, None, [NewLine(line.item, 1)], on=DAY)

    assert refused.value.code == code
    assert (OrderLine.objects.get().quantity, order_sheet(line.order).can_change) == (20, False)


def test_suggestions_become_one_order_per_supplier():
    one, other = SupplierFactory(), SupplierFactory()
    shoe, nail, pad = (ItemFactory(supplier=supplier, pack_size=10) for supplier in (one, None, other))
    more = ItemFactory(supplier=one)
    OrderLineFactory(item=shoe, unit_price=D("3.30"), order__ordered_on=DAY - timedelta(30))
    OrderLineFactory(item=shoe, unit_price=D("3.40"), order__ordered_on=DAY - timedelta(20))

    orders = order_suggestions([(shoe, 2), (nail, 1), (pad, 3), (more, 4)], DAY)

    assert [(order.supplier, lines_of(order)) for order in orders] == [
        (one, [(shoe, 2, 10, 20, D("3.4")), (more, 4, 1, 4, None)]),
        (None, [(nail, 1, 10, 10, None)]),
        (other, [(pad, 3, 10, 30, None)]),
    ]


def test_no_suggestion_is_ordered_where_one_is_refused():
    with pytest.raises(RuleBroken):
        order_suggestions([(ItemFactory(supplier=SupplierFactory()), 1), (ItemFactory(), 0)], DAY)

    assert Order.objects.count() == 0


# Receiving


def test_a_delivery_comes_in_at_the_price_that_came_with_its_part_of_the_freight():
    """20 × 3.50 = 70, 250 × 0.12 = 30; 8.00 freight and 2.00 tax: 7.00 and 3.00 (by hand)."""
    shoes = OrderLineFactory(unit_price=D("3.40"), order__supplier=SupplierFactory())
    nails = OrderLineFactory(order=shoes.order, quantity=250, pack_size=250)
    truck = LocationFactory()

    receive_order(
        shoes.order,
        [ReceivedLine(shoes, D(20), D("3.50")), ReceivedLine(nails, D(250), D("0.12"))],
        on=DAY,
        location=truck,
        freight=D(8),
        tax=D(2),
        reference="slip 7",
        paid_on=DAY,
    )

    rows = Purchase.objects.order_by("pk")
    assert list(
        rows.values_list("order_line", "movement__quantity", "movement__unit_cost", "movement__location")
    ) == [(shoes.pk, 20, D("3.85"), truck.pk), (nails.pk, 250, D("0.132"), truck.pk)]
    assert set(rows.values_list("supplier", "reference", "paid_on")) == {
        (shoes.order.supplier.pk, "slip 7", DAY)
    }
    assert list(Valuation.objects.order_by("pk").values_list("cost", "value")) == [(77, 77), (33, 33)]
    assert on_order(DAY) == {}


def test_what_came_in_part_leaves_the_rest_on_order():
    line = OrderLineFactory()

    came(line, 5)
    came(line, 7, on=DAY + timedelta(3))

    assert [on_order(DAY + timedelta(days)) for days in (-1, 0, 3)] == [
        {line.item.pk: 20},
        {line.item.pk: 15},
        {line.item.pk: 8},
    ]


def test_what_is_on_order_of_an_item_adds_up_over_its_orders_from_their_days_on():
    line = OrderLineFactory()
    OrderLineFactory(item=line.item, quantity=30, order__ordered_on=DAY)

    assert (on_order(DAY - timedelta(1)), on_order(DAY)) == ({line.item.pk: 20}, {line.item.pk: 50})


def test_more_than_was_ordered_may_come_and_takes_nothing_from_another_order():
    line = OrderLineFactory()
    OrderLineFactory(item=line.item)

    came(line, 26)

    assert on_order(DAY) == {line.item.pk: 20}


def test_what_was_taken_back_is_to_come_again():
    line = OrderLineFactory()
    movements = came(line, 20)

    reverse_movements(movements)

    assert (on_order(DAY), order_sheet(line.order).receipts) == ({line.item.pk: 20}, [])


def test_what_was_taken_back_after_a_closing_had_come_until_then():
    line = OrderLineFactory()
    movements = came(line, 20)
    Profile.objects.create(name="x", closed_through=DAY + timedelta(9))

    reverse_movements(movements)

    assert [on_order(DAY + timedelta(days)) for days in (9, 10)] == [{}, {line.item.pk: 20}]


def test_a_delivery_that_was_received_already_is_not_received_again():
    line = OrderLineFactory()
    came(line, 5, receipts_before=0)

    with pytest.raises(RuleBroken) as refused:
        came(line, 5, receipts_before=0)

    assert (refused.value.code, Purchase.objects.count()) == ("order_received_meanwhile", 1)


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"rows": []}, "delivery_is_empty"),
        ({"quantity": "0"}, "quantity_not_positive"),
        ({"unit_price": "-1"}, "price_below_zero"),
        ({"freight": D("-1")}, "freight_or_tax_invalid"),
        ({"freight": D("0.005")}, "freight_or_tax_invalid"),
        ({"tax": D("-1"), "freight": D(1)}, "freight_or_tax_invalid"),
        ({"on": date(2026, 9, 30)}, "delivery_before_order"),
        ({"on": date(2026, 1, 1), "closed": True}, "day_closed"),
        ({"other": True}, "line_of_another_order"),
        ({"twice": True}, "line_received_twice"),
    ],
    ids=str,
)
def test_a_delivery_that_cannot_be_is_refused_whole(wrong, code):
    line = OrderLineFactory(order__ordered_on=date(2025, 12, 1) if "closed" in wrong else date(2026, 10, 1))
    Profile.objects.create(name="x", closed_through=date(2026, 2, 1))
    good = ReceivedLine(OrderLineFactory(order=line.order), D(1), D(1))
    bad = ReceivedLine(
        OrderLineFactory() if "other" in wrong else line,
        D(wrong.get("quantity", 1)),
        D(wrong.get("unit_price", 1)),
    )
    rows = wrong.get("rows", [good, bad, bad] if "twice" in wrong else [good, bad])
    more = {name: wrong[name] for name in ("freight", "tax") if name in wrong}

    with pytest.raises(RuleBroken) as refused:
        receive_order(line.order, rows, on=wrong.get("on", DAY), **more)

    assert refused.value.code == code
    assert (Movement.objects.count(), Purchase.objects.count()) == (0, 0)


# Canceling


def test_a_line_is_canceled_in_part():
    line = OrderLineFactory()
    came(line, 5)

    cancel_order_line(line, D(10))

    assert (on_order(DAY), OrderLine.objects.get().cancelled) == ({line.item.pk: 5}, 10)


@pytest.mark.parametrize(
    ("quantity", "code"),
    [("0", "quantity_not_positive"), ("-1", "quantity_not_positive"), ("16", "more_than_to_come")],
)
def test_no_more_is_canceled_than_is_to_come(quantity, code):
    line = OrderLineFactory()
    came(line, 5)

    with pytest.raises(RuleBroken) as refused:
        cancel_order_line(line, D(quantity))

    assert (refused.value.code, OrderLine.objects.get().cancelled) == (code, 0)


def test_the_rest_of_an_order_is_canceled_at_once():
    line = OrderLineFactory()
    OrderLineFactory(order=line.order)
    came(line, 5)

    cancel_rest(line.order)

    assert list(OrderLine.objects.order_by("pk").values_list("cancelled", flat=True)) == [15, 20]
    assert list(Order.objects.for_list().values_list("is_open", "line_count")) == [(False, 2)]


def test_nothing_is_canceled_of_an_order_that_came_whole():
    line = OrderLineFactory()
    came(line, 20)

    with pytest.raises(RuleBroken) as refused:
        cancel_rest(line.order)

    assert (refused.value.code, OrderLine.objects.get().cancelled) == ("nothing_to_come", 0)


def test_open_orders_stand_first_then_the_latest():
    old, late, done = (OrderLineFactory(order__ordered_on=DAY - timedelta(days)) for days in (30, 20, 10))
    came(done, 20)

    assert list(Order.objects.for_list()) == [late.order, old.order, done.order]


# When it is expected


def expected_of(item, on=DAY):
    return deliveries(on, Profile.current()).get(item.pk, [])


@pytest.mark.parametrize(
    ("of_item", "of_supplier", "days"), [(3, 5, 3), (None, 5, 5), (None, None, 7)], ids=str
)
def test_an_order_is_expected_its_lead_time_after_it_was_placed(of_item, of_supplier, days):
    # The item's own, else that of the supplier who delivers, else the practice's, seven days.
    shoe = ItemFactory(lead_time_days=of_item, supplier=SupplierFactory(lead_time_days=21))
    place_order(SupplierFactory(lead_time_days=of_supplier), [NewLine(shoe, 2)], on=DAY)

    assert expected_of(shoe) == [ExpectedDelivery(DAY + timedelta(days), D(2))]


def test_the_day_that_the_supplier_promised_goes_before_the_lead_time():
    line = OrderLineFactory()

    expect_order(line.order, DAY + timedelta(3))
    promised = expected_of(line.item)
    expect_order(line.order, None)

    assert promised == [ExpectedDelivery(DAY + timedelta(3), D(20))]
    assert expected_of(line.item) == [ExpectedDelivery(line.order.ordered_on + timedelta(7), D(20))]


def test_what_came_is_not_expected_any_more():
    first, second = OrderLineFactory(), OrderLineFactory()
    expect_order(first.order, DAY + timedelta(9))
    came(first, 5)
    came(second, 20)

    assert expected_of(first.item) == [ExpectedDelivery(DAY + timedelta(9), D(15))]
    assert expected_of(second.item) == []


def test_orders_of_one_item_are_expected_in_order_and_those_of_a_day_together():
    shoe = ItemFactory()
    for days in (9, 4, 9):
        expect_order(OrderLineFactory(item=shoe).order, DAY + timedelta(days))

    assert expected_of(shoe) == [
        ExpectedDelivery(DAY + timedelta(4), D(20)),
        ExpectedDelivery(DAY + timedelta(9), D(40)),
    ]


def test_an_order_is_not_expected_before_it_was_placed_or_once_all_has_come():
    line = OrderLineFactory()

    with pytest.raises(RuleBroken) as early:
        expect_order(line.order, line.order.ordered_on - timedelta(1))
    expect_order(line.order, DAY)
    with pytest.raises(RuleBroken) as late:
        change_order(line.order, None, [NewLine(line.item, 1)], on=DAY + timedelta(1))
    came(line, 20)
    with pytest.raises(RuleBroken) as done:
        expect_order(line.order, DAY)

    codes = [error.value.code for error in (early, late, done)]
    assert codes == ["expected_before_order", "expected_before_order", "nothing_to_come"]
