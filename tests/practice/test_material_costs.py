"""What materials of visits and horses cost."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from practice.models import MaterialReturn
from practice.reports.material_costs import cost_of_horse, cost_of_visit
from stock.actions.movements import NewFact, add_facts
from tests.factories.practice import DAY, HorseFactory, ProfileFactory
from tests.factories.stock import ItemFactory, receipt
from tests.practice.test_expected_use import done

pytestmark = pytest.mark.django_db


def test_the_cost_of_a_visit_is_what_its_uses_cost_less_what_came_back():
    shoe, nail = ItemFactory(), ItemFactory()
    receipt(shoe, "10", "3.5", on=DAY - timedelta(days=90))
    receipt(nail, "250", "0.08", on=DAY - timedelta(days=90))
    horse = HorseFactory()
    first = done(horse, DAY - timedelta(days=60), (shoe, 4), (nail, 24))
    second = done(horse, DAY - timedelta(days=9), (nail, 12))
    [back] = add_facts(
        [NewFact(shoe, DAY - timedelta(days=50), "visit return", Decimal(1), job=f"{first.pk}/{horse.pk}")]
    )
    MaterialReturn.objects.create(movement=back, visit=first, horse=horse)

    assert cost_of_visit(first) == {horse.pk: Decimal("12.42")}
    costs = {first.pk: Decimal("12.42"), second.pk: Decimal("0.96")}
    assert cost_of_horse(horse, [first.pk, second.pk]) == costs


def test_the_pages_of_visit_and_horse_say_it(browser, settings):
    settings.TODAY = DAY
    ProfileFactory()
    shoe, horse = ItemFactory(), HorseFactory()
    receipt(shoe, "10", "3.5", on=DAY - timedelta(days=90))
    visit = done(horse, DAY, (shoe, 4))

    pages = [
        browser.get(reverse("practice:visit-detail", args=[visit.pk])).content.decode(),
        browser.get(reverse("practice:horse-detail", args=[horse.pk])).content.decode(),
    ]

    assert ["$14.00" in page for page in pages] == [True, True]
