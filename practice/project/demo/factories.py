"""Rows of the demo book, one factory a file of the contract. A row is a dict of column → text.

Every draw comes from factory-boy's random generator, so that one seed gives one book.
"""

import factory
from factory.random import randgen

from practice.project.demo import scenario


def slug(text: str) -> str:
    """Return a ref for a name: `Fiddler's Rise` → `fiddlers-rise`."""
    return "-".join("".join(c for c in text.lower() if c.isalnum() or c in " -").split())


class ClientRow(factory.Factory):
    class Meta:
        model = dict

    ref = factory.LazyAttribute(lambda row: slug(row.name))
    name = factory.Iterator(scenario.CLIENTS, cycle=False)
    email = factory.LazyAttribute(lambda row: f"{slug(row.name)}@mail.example")
    phone = factory.Sequence(lambda n: f"555-01{n % 100:02d}")
    address = factory.Sequence(
        lambda n: (
            f"{14 + 137 * n % 900} {scenario.STREETS[n % len(scenario.STREETS)]}\n"
            f"{scenario.TOWNS[n % len(scenario.TOWNS)]}"
        )
    )


class PlaceRow(factory.Factory):
    class Meta:
        model = dict

    class Params:
        east, north = 0, 0

    ref = factory.LazyAttribute(lambda row: slug(row.name))
    # One degree of latitude is about 69 miles, one of longitude about 52 at 41° north (from memory).
    latitude = factory.LazyAttribute(lambda row: f"{41.2 + row.north / 69:.5f}")
    longitude = factory.LazyAttribute(lambda row: f"{-93.4 + row.east / 52:.5f}")


class HorseRow(factory.Factory):
    class Meta:
        model = dict

    ref = factory.LazyAttribute(lambda row: slug(row.name))
    cycle_weeks = factory.LazyFunction(lambda: str(randgen.choice([5, 6, 6, 6, 6, 7, 8])))
    born = factory.LazyFunction(lambda: str(randgen.randint(2003, 2020)))
    breed = factory.LazyFunction(lambda: randgen.choice(list(scenario.SIZES_OF)))


class ItemRow(factory.Factory):
    class Meta:
        model = dict

    ref = factory.LazyAttribute(lambda row: slug(row.name.replace(",", "")))
    unit = "each"
    supplier = "tarn-iron"
    service_level = "0.95"
    taxable = "no"


class VisitRow(factory.Factory):
    class Meta:
        model = dict

    ref = factory.Sequence(lambda n: f"v{n + 1:05d}")
    status = "done"
    vehicle = "truck"


class PaymentRow(factory.Factory):
    class Meta:
        model = dict

    ref = factory.Sequence(lambda n: f"pay{n + 1:05d}")
    method = factory.LazyFunction(lambda: randgen.choice(["check", "check", "cash", "card", "transfer"]))


class ExpenseRow(factory.Factory):
    class Meta:
        model = dict

    ref = factory.Sequence(lambda n: f"e{n + 1:05d}")


def restart(seed: int) -> None:
    """Seed every draw and begin every sequence anew."""
    factory.random.reseed_random(seed)
    for rows in (ClientRow, PlaceRow, HorseRow, ItemRow, VisitRow, PaymentRow, ExpenseRow):
        rows.reset_sequence(0)
    ClientRow.name.reset()
