"""The mileage rates that the program knows, with their sources: `data/mileage_rates.csv`."""

import csv
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

from billing.rules.mileage import Rate
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


def bring_known_rates(model) -> None:
    """Put the known rates into the book: what is missing is added, what the program brought follows.

    `model` is MileageRate, in a migration its state then. What the practice changed stays.
    """
    book = {key_of(row): row for row in model.objects.all()}
    for known in known_rates():
        values = asdict(known)
        row = book.get(key_of(known))
        if row is None:
            model.objects.create(**values, from_program=True)
        elif row.from_program:
            model.objects.filter(pk=row.pk).update(**values)
