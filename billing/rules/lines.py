"""What one visit bills: its lines, and each payer's part of them. Pure, on plain values.

Keys of clients, horses, services and items may be anything hashable; they come back unchanged.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from billing.rules.payers import Share
from billing.rules.totals import Tax
from practice.lib.millionths import LARGEST
from practice.lib.money import round_money, split
from practice.rules.charges import line_amount

SERVICE, MATERIAL, TRAVEL = "service", "material", "travel"
CHARGE, DISCOUNT = "charge", "discount"
# What a client's discount is taken off.
DISCOUNTED = (SERVICE, MATERIAL)
# The code of the charge that brings a visit up to the practice's minimum.
MINIMUM = "minimum"
NO_PRICE, NO_OWNER, NO_REACH, CREDITED = "no_price", "no_owner", "no_reach", "credited"
TOO_LARGE = "too_large"


@dataclass(frozen=True)
class BilledRow:
    """A row of work or of materials. `price` is per unit, typed or by the list; None: there is none.

    A service without a price holds the visit back; material without one is covered by the work.
    """

    kind: str
    horse: Hashable
    code: Hashable
    quantity: Decimal
    price: Decimal | None
    taxable: bool = False

    @property
    def paid_as(self) -> tuple[Hashable, Hashable]:
        """What decides who pays it: the horse and the service; materials and travel have none."""
        return self.horse, self.code if self.kind == SERVICE else None


@dataclass(frozen=True)
class LinePart:
    """One client's part of a line. `unit_price` is of the whole line, `net` the client's part.

    A charge or discount of its own has no horse. `percent` is that of a discount.
    """

    client: Hashable
    kind: str
    horse: Hashable
    code: Hashable
    quantity: Decimal
    unit_price: Decimal
    share: Decimal
    net: Decimal
    taxes: tuple[Tax, ...]
    percent: Decimal | None = None


@dataclass(frozen=True)
class Held:
    """Why a whole visit is held back: the contract's code, and the horse and service that it is about."""

    code: str
    horse: Hashable = None
    service: Hashable = None


def visit_parts(
    entries: Sequence[BilledRow],
    payers: Mapping[tuple[Hashable, Hashable], Sequence[Share]],
    travel: Decimal | None,
    taxes: tuple[Tax, ...],
    currency: str,
    travel_taxable: bool = False,
    minimum: Decimal = Decimal(0),
) -> list[LinePart] | Held:
    """Return every client's parts of a done visit, or why it is held back.

    `entries` stand in order of entry, work first; `payers` holds the shares of those who pay that day,
    by horse and service (None: materials, travel, and what is missing to the minimum); `travel` is the
    visit's charge, None where it has no reach; `taxes` are those of the place's area. What it bills before
    sharing is brought up to `minimum`, where it is above 0. A visit without work bills nothing: []. One that
    comes to more than the book keeps is held back.
    """
    for entry in entries:
        if entry.kind == SERVICE and entry.price is None:
            return Held(NO_PRICE, entry.horse, entry.code)
    worked = list(dict.fromkeys(entry.horse for entry in entries if entry.kind == SERVICE))
    if not worked:
        return []
    billed = [entry for entry in entries if entry.price is not None]
    for entry in billed:
        if not payers.get(entry.paid_as):
            return Held(NO_OWNER, *entry.paid_as)
    lines = [(entry, line_amount(entry.quantity, entry.price, currency)) for entry in billed]
    whole = sum((amount for _, amount in lines), travel or Decimal(0))
    if whole >= LARGEST:
        return Held(TOO_LARGE, max(lines, key=lambda line: line[1])[0].horse)
    short = round_money(minimum - whole, currency) if 0 < whole < minimum else Decimal(0)
    for horse in worked if travel != 0 or short else ():
        if not payers.get((horse, None)):
            return Held(NO_OWNER, horse)
    if travel is None:
        return Held(NO_REACH)
    for kind, code, charge in ((TRAVEL, None, travel), (CHARGE, MINIMUM, short)):
        for horse, part in zip(worked, split(charge, [1] * len(worked), currency), strict=True):
            lines.append((BilledRow(kind, horse, code, Decimal(1), part, travel_taxable), part))
    return [
        part
        for entry, amount in lines
        if entry.kind not in (TRAVEL, CHARGE) or amount
        for part in _shared(entry, amount, payers[entry.paid_as], taxes, currency)
    ]


def _shared(
    entry: BilledRow, amount: Decimal, shares: Sequence[Share], taxes: tuple[Tax, ...], currency: str
) -> list[LinePart]:
    nets = split(amount, [share.percent for share in shares], currency)
    return [
        LinePart(
            client=share.client,
            kind=entry.kind,
            horse=entry.horse,
            code=entry.code,
            quantity=entry.quantity,
            unit_price=entry.price,
            share=share.percent,
            net=net,
            taxes=taxes if entry.taxable else (),
        )
        for share, net in zip(shares, nets, strict=True)
    ]
