"""Dated prices and tax rates."""

from datetime import date
from decimal import Decimal

from django.db import transaction

from billing.models import Price
from practice.lib.profile import Profile
from practice.models import Service
from stock.models import Item


@transaction.atomic
def set_price(thing: Service | Item, since: date, price: Decimal) -> Price:
    """Make this the price of one unit from a day on, and return it; a price of that same day is replaced.

    Invoices already issued keep their prices. Raises RuleBroken for a closed day.
    """
    Profile.current().check_open(since)
    of = {"service": thing} if isinstance(thing, Service) else {"item": thing}
    Price.objects.filter(valid_from=since, **of).delete()
    return Price.objects.create(valid_from=since, price=price, **of)
