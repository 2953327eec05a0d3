"""Dated prices and tax rates."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from billing.models import Price
from practice.lib.errors import RuleBroken
from practice.lib.names import plain_name
from practice.lib.periods import FIRST_DAY
from practice.lib.profile import Profile
from practice.models import Client, Horse, Place, Service
from stock.models import Item


@dataclass(frozen=True)
class PricedWork:
    """A service to be added, with its first price; `minutes` for one horse, shoes and feet of its four."""

    name: str
    price: Decimal
    minutes: int | None = None
    new_shoes: int | None = None
    feet_nailed: int | None = None
    resets_cycle: bool = True


@transaction.atomic
def add_priced_work(rows: Iterable[PricedWork]) -> list[Price]:
    """Add services, each with a price that holds from the beginning: the first day that is not closed.

    Raises RuleBroken("service_exists") for a name that is in the book; then none is added.
    """
    since = Profile.current().open_day(FIRST_DAY)
    known = {plain_name(name) for name in Service.objects.values_list("name", flat=True)}
    prices = []
    for row in rows:
        if plain_name(row.name) in known:
            raise RuleBroken(
                "service_exists", f"{row.name} is in the book already. Change its price on the Prices page."
            )
        known.add(plain_name(row.name))
        values = {name: value for name, value in vars(row).items() if name != "price"}
        prices.append(set_price(Service.objects.create(**values), since, row.price))
    return prices


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
