"""What is used by size and season, and what sits idle."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from stock.actions.movements import NewFact, add_facts, reverse_movements
from stock.reports.usage import IdleItem, Quarter, Usage, idle, months_of, quarters, usage
from tests.factories.practice import ProfileFactory
from tests.factories.stock import ItemFactory, receipt

pytestmark = pytest.mark.django_db
ON = date(2026, 11, 25)


def used(item, quantity, on, kind="use", job="1/1"):
    return add_facts([NewFact(item, on, kind, Decimal(quantity), job=job)])[0]


def test_quarters_end_with_the_day():
    assert quarters(date(2026, 2, 10)) == [
        Quarter(date(2025, 4, 1), date(2025, 6, 30)),
        Quarter(date(2025, 7, 1), date(2025, 9, 30)),
        Quarter(date(2025, 10, 1), date(2025, 12, 31)),
        Quarter(date(2026, 1, 1), date(2026, 2, 10)),
    ]


def test_usage_is_by_quarter_less_what_came_back():
    shoe, unused = ItemFactory.create_batch(2)
    receipt(shoe, "50", on=date(2025, 1, 2))
    receipt(unused, "50", on=date(2025, 1, 2))
    used(shoe, 9, date(2025, 12, 31))  # the year before
    used(shoe, 4, date(2026, 3, 31))
    used(shoe, 6, date(2026, 11, 2))
    used(shoe, 1, date(2026, 11, 3), kind="visit return")
    reverse_movements([used(shoe, 30, date(2026, 5, 1))])

    rows = usage(ON)

    assert rows == [Usage(shoe, list(zip(quarters(ON), [4, 0, 0, 5], strict=True)), Decimal(32))]
    assert rows[0].total == 9
    assert [quantity for _, quantity in months_of(shoe, ON)] == [9, 0, 0, 4, 0, 0, 0, 0, 0, 0, 0, 5]


def test_what_was_not_used_for_half_a_year_is_slow_and_for_a_year_dead():
    moves, slow, dead, never, new = ItemFactory.create_batch(5)
    for item in (moves, slow, dead, never):
        receipt(item, "10", "2", on=ON - timedelta(days=500))
    receipt(new, "10", "2", on=ON - timedelta(days=182))
    for item, days in ((moves, 182), (slow, 183), (dead, 366)):
        used(item, 1, ON - timedelta(days=days))

    assert idle(ON) == [
        IdleItem(never, 10, 20, None, dead=True),
        IdleItem(slow, 9, 18, ON - timedelta(days=183), dead=False),
        IdleItem(dead, 9, 18, ON - timedelta(days=366), dead=True),
    ]


def test_the_page_shows_both(browser, settings):
    settings.TODAY = ON
    ProfileFactory()
    shoe, idle_shoe = ItemFactory(name="Plain front, No 2"), ItemFactory(name="Rim, No 7")
    for item in (shoe, idle_shoe):
        receipt(item, "10", on=ON - timedelta(days=400))
    used(shoe, 4, ON)

    answer = browser.get(reverse("stock:usage"))

    page = " ".join(answer.content.decode().split())
    assert "<h1>1 item is sitting idle.</h1>" in page
    groups = answer.context["usage"].groups
    assert [(label, [row.total for row in rows]) for label, rows in groups] == [("Shoes", [4])]
