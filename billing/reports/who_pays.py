"""Who pays for the work on horses, fetched for many horses at once."""

from collections import defaultdict
from collections.abc import Collection
from datetime import date

from billing.models import BillTo
from billing.rules.payers import Share, payers_on, sole_payer
from billing.rules.pricing import LineOf
from practice.models import Owner


class WhoPays:
    """The owners of some horses, and those who pay instead of them."""

    def __init__(self, horses: Collection[int]):
        self._owners, self._others = defaultdict(list), defaultdict(list)
        for owner in Owner.objects.filter(horse__in=horses).order_by("pk"):
            self._owners[owner.horse_id].append(owner)
        for row in BillTo.objects.filter(horse__in=horses).order_by("pk"):
            self._others[row.horse_id].append(row.as_payer())

    @property
    def all_owners(self) -> set[int]:
        """The owners of all these horses, on any day."""
        return {owner.client_id for owners in self._owners.values() for owner in owners}

    def owners(self, horse: int, on: date) -> list[int]:
        """Return who owns a horse that day, in order of entry, whoever pays."""
        return [owner.client_id for owner in self._shares(horse, on)]

    def of(self, horse: int, service: int | None, on: date) -> list[Share]:
        """Return who pays for a service on a horse, or for its materials and travel (None), in order."""
        owners = [Share(owner.client_id, owner.share) for owner in self._shares(horse, on)]
        return payers_on(on, horse, service, owners, self._others[horse])

    def _shares(self, horse: int, on: date) -> list[Owner]:
        return [owner for owner in self._owners[horse] if owner.holds_on(on)]

    def line(self, horse: int, service: int | None, place: int | None, on: date) -> LineOf:
        """Return what decides the price of a service, or of a material (None), on a horse at a place."""
        return LineOf(horse, sole_payer(self.of(horse, service, on)), place)
