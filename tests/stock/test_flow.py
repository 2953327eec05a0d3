"""The value of the shelf through a year. Worked by hand."""

from datetime import date
from decimal import Decimal

import pytest

from practice.lib.periods import tax_year
from stock.actions.movements import NewFact, add_facts, count_item, receive_item
from stock.reports.flow import Flow, flow_in
from stock.reports.levels import Level, levels
from tests.factories.practice import ProfileFactory
from tests.factories.stock import ItemFactory

pytestmark = pytest.mark.django_db
D = Decimal
YEAR = tax_year(2026, "US")


def fact(item, kind, quantity, on):
    add_facts([NewFact(item, on, kind, D(quantity))])


def test_the_block_of_publication_334():
    """IRS Publication 334, ch. 7: 37,845 + 285,900 − 2,650 withdrawn − 32,955 at the end = 288,140 used.

    At 5.00 a unit: 7,569 + 57,180 − 530 − 6,591 = 57,628 used.
    """
    ProfileFactory()
    item = ItemFactory()
    receive_item(item, D(7569), D(5), on=date(2025, 6, 1))
    receive_item(item, D(57180), D(5), on=date(2026, 2, 1))
    fact(item, "withdrawal", "530", date(2026, 5, 1))
    fact(item, "use", "57628", date(2026, 9, 1))

    flow = flow_in(YEAR)

    assert (flow.opening, flow.received, flow.withdrawn, flow.closing) == (37845, 285900, 2650, 32955)
    assert flow.opening + flow.received - flow.withdrawn - flow.closing == 288140


def test_what_goes_back_to_a_supplier_and_what_counts_find_stand_by_themselves():
    """10 at 4.00; 2 sent back, 1 wasted, 5 found where 7 should be; in the next year 3 are found."""
    ProfileFactory()
    item = ItemFactory()
    receive_item(item, D(10), D(4), on=date(2026, 2, 1), paid_on=date(2027, 1, 5))
    fact(item, "supplier return", "2", date(2026, 3, 1))
    fact(item, "waste", "1", date(2026, 4, 1))
    count_item(item, D(5), on=date(2026, 5, 1))
    count_item(item, D(8), on=date(2027, 5, 1))

    assert flow_in(YEAR) == Flow(
        opening=D(0),
        opened=D(0),
        received=D(40),
        sent_back=D(8),
        withdrawn=D(0),
        counted=D(-8),
        closing=D(20),
        paid=D(0),
        paid_unknown=D(0),
    )
    assert flow_in(tax_year(2027, "US")).counted == D(12)
    assert flow_in(tax_year(2027, "US")).paid == D(40)


def test_an_opening_shelf_counted_within_the_year_is_no_difference():
    ProfileFactory()
    opened, bought = ItemFactory(), ItemFactory()
    count_item(opened, D(20), on=date(2026, 3, 1), unit_cost=D("1.5"))
    count_item(opened, D(18), on=date(2026, 4, 1))
    receive_item(bought, D(4), D(2), on=date(2026, 2, 1))
    count_item(bought, D(5), on=date(2026, 3, 1))

    flow = flow_in(YEAR)

    assert (flow.opening, flow.opened, flow.counted, flow.closing) == (D(0), D(30), D(-1), D(37))


def test_a_count_that_turns_out_not_to_be_the_first_fact_is_a_difference():
    ProfileFactory()
    item = ItemFactory()
    count_item(item, D(20), on=date(2026, 3, 1), unit_cost=D("1.5"))
    receive_item(item, D(4), D(2), on=date(2026, 2, 1))

    flow = flow_in(YEAR)

    assert (flow.opened, flow.received, flow.counted, flow.closing) == (D(0), D(8), D(32), D(40))


def test_deliveries_that_do_not_say_when_they_were_paid_are_told():
    ProfileFactory()
    item = ItemFactory()
    receive_item(item, D(4), D(2), on=date(2026, 2, 1))
    receive_item(item, D(5), D(2), on=date(2025, 12, 1), paid_on=date(2026, 1, 4))

    flow = flow_in(YEAR)

    assert (flow.paid, flow.paid_unknown) == (D(10), D(8))


def test_levels_are_those_at_the_end_of_a_day():
    ProfileFactory()
    item, other = ItemFactory(), ItemFactory()
    receive_item(item, D(10), D(4), on=date(2026, 2, 1))
    fact(item, "use", "3", date(2026, 2, 1))
    fact(item, "use", "3", date(2026, 3, 1))
    receive_item(other, D(1), D(1), on=date(2026, 3, 1))

    assert levels(date(2026, 2, 28)) == {item.pk: Level(D(7), D(28))}
