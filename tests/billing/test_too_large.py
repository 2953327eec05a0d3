"""A price and a quantity that are in range, and come to more than the book keeps: the visit is held back."""

import json
from decimal import Decimal

import pytest
from django.core.management import call_command

from billing.actions.invoicing import close_days
from billing.models import Invoice
from practice.lib.errors import RuleBroken
from practice.lib.millionths import LARGEST
from practice.lib.profile import Profile
from tests.factories.practice import (
    DAY,
    ClientFactory,
    LegFactory,
    MaterialUseFactory,
    PlaceFactory,
    ProfileFactory,
    trim,
)
from tests.factories.stock import ItemFactory

pytestmark = pytest.mark.django_db
MANY = LARGEST - 1


def too_much_work():
    work = trim(price=MANY)
    work.quantity = Decimal(2)
    work.save()
    return work


def too_much_material():
    work = trim()
    item = ItemFactory(sale_price=MANY)
    MaterialUseFactory(visit=work.visit, horse=work.horse, item=item, quantity=Decimal(2))
    return work


def too_far():
    profile = Profile.current()
    profile.travel_rule, profile.travel_rate = "per_distance", MANY
    profile.save()
    work = trim()
    LegFactory(visit=work.visit, date=DAY, distance=Decimal(2), purpose="business")
    return work


@pytest.mark.parametrize(
    "make, reason",
    [
        (too_much_work, "{horse}: the work and materials on October 14 come to too much"),
        (too_much_material, "{horse}: the work and materials on October 14 come to too much"),
        (too_far, "The drive to {place} on October 14 comes to too much"),
    ],
)
def test_a_visit_that_comes_to_too_much_is_held_back_and_the_others_are_billed(make, reason, capsys):
    ProfileFactory()
    work = make()
    client = ClientFactory()
    trim(client, place=PlaceFactory(travel_rate=Decimal(0)))

    call_command("close_day", "--date", str(DAY), "--no-pdf", "--json")

    document = json.loads(capsys.readouterr().out)
    assert [(row["visit"], row["code"]) for row in document["held"]] == [(work.visit.key, "too_large")]
    [said] = [row["reason"] for row in document["held"]]
    assert said.startswith(reason.format(horse=work.horse, place=work.visit.place))
    assert [row.client for row in Invoice.objects.all()] == [client]


def test_an_invoice_whose_visits_come_to_too_much_together_is_refused():
    ProfileFactory()
    client = ClientFactory()
    for _ in range(2):
        trim(client, price=MANY)

    with pytest.raises(RuleBroken) as refused:
        close_days(DAY, DAY, DAY)

    assert (refused.value.code, Invoice.objects.count()) == ("invoice_too_large", 0)
    assert str(client) in str(refused.value)
