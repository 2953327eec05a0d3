"""Dated prices and tax rates."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from django.db import transaction

from billing.models import Price
from practice.lib.profile import Profile
from practice.models import Client, Horse, Place, Service
from stock.models import Item


@transaction.atomic
def set_price(
    thing: Service | Item, since: date, price: Decimal, whose: Horse | Client | Place | None = None
) -> Price:
    """Make this the price of one unit from a day on, and return it; a price of that same day is replaced.

    With `whose` it is a special price, for that horse, client or place alone. Invoices already issued keep
    their prices. Raises RuleBroken for a closed day.
    """
    Profile.current().check_open(since)
    of = {"service": None, "item": None, **_named(thing)}
    of |= {"horse": None, "client": None, "place": None} | (_named(whose) if whose else {})
    Price.objects.filter(valid_from=since, **of).delete()
    return Price.objects.create(valid_from=since, price=price, **of)


@transaction.atomic
def change_special_price(row: Price, since: date, price: Decimal) -> Price:
    """Change from when a special price holds, and how high it is.

    Raises RuleBroken where it holds on a closed day, or would.
    """
    profile = Profile.current()
    profile.check_open(row.valid_from)
    profile.check_open(since)
    thing, whose = row.thing, row.whose
    row.delete()
    return set_price(thing, since, price, whose)


@transaction.atomic
def remove_special_price(row: Price) -> None:
    """Take a special price out of the list. Raises RuleBroken where it holds on a closed day."""
    Profile.current().check_open(row.valid_from)
    row.delete()


@transaction.atomic
def raise_prices(prices: Iterable[tuple[Service, Decimal]], since: date) -> list[Price]:
    """Give services new prices from a day on, all of them or none. Raises RuleBroken for a closed day."""
    return [set_price(service, since, price) for service, price in prices]


def _named(row: Service | Item | Horse | Client | Place) -> dict:
    """Return a row by the name of the column that points to it: `{"horse": row}`."""
    return {row._meta.model_name: row}
