"""Who pays for a horse on a day: its owners by their shares, or someone else instead. Pure, on plain values.

Keys of clients, horses and services may be anything hashable.
"""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

ALL = Decimal(100)


@dataclass(frozen=True)
class Share:
    """What a client pays of a line, in percent."""

    client: Hashable
    percent: Decimal


@dataclass(frozen=True)
class OtherPayer:
    """A client who pays for a horse instead of its owners, from a day to a day (both included, None: open).

    With a `service` for that one only; without, for everything, materials and travel included.
    """

    horse: Hashable
    client: Hashable
    begin: date | None = None
    end: date | None = None
    service: Hashable = None

    def is_in_force(self, on: date) -> bool:
        return (self.begin or date.min) <= on <= (self.end or date.max)

    def through(self, closed: date | None) -> "OtherPayer | None":
        """Return what of it falls on days up to `closed`; None: nothing, or no day is closed."""
        if closed is None or (self.begin or date.min) > closed:
            return None
        return replace(self, end=min(self.end or date.max, closed))


def payers_on(
    on: date,
    horse: Hashable,
    service: Hashable,
    owners: Sequence[Share],
    others: Iterable[OtherPayer],
) -> list[Share]:
    """Return who pays for a service on a horse that day, or for its materials and travel (None).

    `owners` are the shares in force, `others` stand in order of entry: one for the service goes before one
    for everything; of several alike the latest beginning holds, then the one entered last. Its share is 100.
    """
    in_force = [row for row in others if row.horse == horse and row.is_in_force(on)]
    for wanted in dict.fromkeys([service, None]):
        alike = [row for row in in_force if row.service == wanted]
        if alike:
            last = max(enumerate(alike), key=lambda entry: (entry[1].begin or date.min, entry[0]))[1]
            return [Share(last.client, ALL)]
    return list(owners)


def sole_payer(shares: Iterable[Share]) -> Hashable | None:
    """Return the client who alone pays; None: nobody, or several."""
    clients = {share.client for share in shares}
    return clients.pop() if len(clients) == 1 else None
