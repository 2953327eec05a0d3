"""Figures and dates as a client reads them on paper."""

from decimal import Decimal
from typing import Protocol

from practice.lib import formats
from practice.lib.profile import Profile
from practice.models import Client


class OfAClient(Protocol):
    """What a paper is about: an invoice, a statement."""

    client: Client


class ClientWords:
    """Figures and dates in the client's language, in the practice's currency and distance unit.

    `for_practice`: in the practice's own language, as its pages show a paper.
    """

    def __init__(self, thing: OfAClient, profile: Profile, for_practice: bool = False):
        language = "" if for_practice else thing.client.language
        self.locale = language or profile.locale
        self.currency, self.unit = profile.currency, profile.distance_unit

    def amount(self, value: Decimal) -> str:
        return formats.amount(value, self.currency, self.locale)

    def money(self, value: Decimal) -> str:
        return formats.money(value, self.currency, self.locale)

    def price(self, value: Decimal) -> str:
        return formats.unit_price(value, self.currency, self.locale)

    def quantity(self, value: Decimal) -> str:
        return formats.quantity(value, self.locale)

    def percent(self, value: Decimal) -> str:
        return formats.percent(value, self.locale)

    def distance(self, value: Decimal) -> str:
        return formats.distance(value, self.unit, self.locale)
