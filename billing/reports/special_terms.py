"""Special prices, and who pays instead of the owners, as the pages of what they are about list them."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from billing.models import BillTo, Price
from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import Client, Horse, Place

EVERYTHING = "Everything"


@dataclass(frozen=True)
class SpecialTerms:
    """What a panel shows: special prices with the address that adds one, and who pays or is paid for.

    `payers` is None for a place.
    """

    heading: str
    back: str
    add_price: str
    prices: list[ListRow]
    payers_heading: str = ""
    add_payer: str = ""
    payers: list[ListRow] | None = None
    no_payers: str = ""


def terms_of_horse(horse: Horse, profile: Profile) -> SpecialTerms:
    """Return a horse's special prices, and who pays for it instead of its owners."""
    payers = [_payer_row(row, str(row.client), profile) for row in horse.bill_to.for_list()]
    return SpecialTerms(
        f"Who pays for {horse}",
        horse.get_absolute_url(),
        add_address("horse", horse),
        price_rows(horse.prices.special(), profile),
        "Who pays",
        reverse("billing:bill-to-add", args=[horse.pk]),
        payers,
        "The owners, by their shares.",
    )


def terms_of_client(client: Client, profile: Profile) -> SpecialTerms:
    """Return a client's special prices, and the horses of others that the client pays for."""
    payers = [_payer_row(row, str(row.horse), profile) for row in client.bill_to.for_list()]
    return SpecialTerms(
        f"Special prices of {client}",
        client.get_absolute_url(),
        add_address("client", client),
        price_rows(client.prices.special(), profile),
        "Pays instead of the owners",
        payers=payers or None,
    )


def terms_of_place(place: Place, profile: Profile) -> SpecialTerms:
    """Return a place's special prices."""
    return SpecialTerms(
        f"Special prices at {place}",
        place.get_absolute_url(),
        add_address("place", place),
        price_rows(place.prices.special(), profile),
    )


def add_address(name: str, row) -> str:
    """Return where a special price is added, with one thing of it filled in."""
    return f"{reverse('billing:special-price-add')}?{name}={row.pk}"


def price_rows(prices: Iterable[Price], profile: Profile) -> list[ListRow]:
    """Return rows of special prices that say what they are of."""
    return [_price_row(row, str(row.thing), profile) for row in prices]


def rows_by_whose(prices: Iterable[Price], profile: Profile) -> list[ListRow]:
    """Return rows of special prices that say whom they are for."""
    return [_price_row(row, str(row.whose), profile) for row in prices]


def _price_row(row: Price, name: str, profile: Profile) -> ListRow:
    return ListRow(
        reverse("billing:special-price-change", args=[row.pk]),
        name,
        more=f"From {formats.medium_date(row.valid_from, profile.locale)}",
        fact=formats.price(row.price, profile.currency, profile.locale),
    )


def _payer_row(row: BillTo, name: str, profile: Profile) -> ListRow:
    days = formats.from_to(row.valid_from, row.valid_to, profile.locale)
    return ListRow(row.get_absolute_url(), name, more=days, fact=paid_of(row))


def paid_of(row: BillTo) -> str:
    """What someone else pays of a horse: a service, or everything."""
    return str(row.service) if row.service else EVERYTHING
