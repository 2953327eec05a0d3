"""The mileage rates that the program knows, with their sources: `data/mileage_rates.csv`."""

import csv
from dataclasses import asdict, dataclass, fields
from datetime import date
from decimal import Decimal
from pathlib import Path

from billing.models import MileageRate
from billing.rules.mileage_rates import Rate
from practice.lib.countries import rated_schemes

FILE = Path(__file__).parent.parent / "data" / "mileage_rates.csv"


@dataclass(frozen=True)
class KnownRate:
    """A published rate in the unit of its scheme, where it was read, and how surely."""

    scheme: str
    valid_from: date
    valid_to: date | None
    tier_from: Decimal
    rate: Decimal
    source: str
    certainty: str

    @property
    def as_rate(self) -> Rate:
        return Rate(self.valid_from, self.valid_to, self.tier_from, self.rate)


def known_rates() -> list[KnownRate]:
    """Return every rate that the program knows, by scheme, day and tier as the file has them."""
    scheme_of = {scheme.jurisdiction: name for name, scheme in rated_schemes().items()}
    with FILE.open(newline="", encoding="utf-8") as file:
        return [
            KnownRate(
                scheme=scheme_of[row["jurisdiction"]],
                valid_from=date.fromisoformat(row["valid_from"]),
                valid_to=date.fromisoformat(row["valid_to"]) if row["valid_to"] else None,
                tier_from=Decimal(row["tier_from_distance"]),
                rate=Decimal(row["rate"]),
                source=row["source"],
                certainty=row["certainty"],
            )
            for row in csv.DictReader(file)
        ]


def key_of(row) -> tuple:
    """Return what tells two rates apart: scheme, first day, tier."""
    return row.scheme, row.valid_from, row.tier_from


def known_rate_like(rate) -> KnownRate | None:
    """Return the known rate of the same scheme, first day and tier; None where the program knows none."""
    return next((known for known in known_rates() if key_of(known) == key_of(rate)), None)


def bring_known_rates() -> None:
    """Make the rates in the book follow the known ones: add, change and delete what differs.

    A rate that the practice added or changed stays as it is.
    """
    known = {key_of(rate): rate for rate in known_rates()}
    book = {key_of(row): row for row in MileageRate.objects.all()}
    for row in book.values():
        if not row.from_program:
            continue
        rate = known.get(key_of(row))
        if rate is None:
            row.delete()
        elif rate != known_rate_of(row):
            MileageRate.objects.filter(pk=row.pk).update(**asdict(rate))
    MileageRate.objects.bulk_create(
        [MileageRate(**asdict(rate), from_program=True) for key, rate in known.items() if key not in book]
    )


def known_rate_of(row: MileageRate) -> KnownRate:
    """Return what a row of the book says of its rate."""
    return KnownRate(**{field.name: getattr(row, field.name) for field in fields(KnownRate)})
