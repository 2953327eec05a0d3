"""Writing the practice, its people, its prices, and what it has."""

from datetime import date

from billing.models import BillTo, MileageRate, Price, TaxRate
from practice.lib.profile import Profile
from practice.models import Client, Horse, Owner, Place, Service, Sign, Vehicle
from practice.project.book.columns import PRACTICE
from practice.project.book.writer.common import Writer
from stock.models import Item, Location, Supplier


def write_practice(writer: Writer) -> date | None | bool:
    """Write the practice; return its `closed_through` for the end, False if it stays the same."""
    closed: date | None | bool = False
    for row in writer.new(PRACTICE):
        Profile.objects.create(**writer.attributes(row, ["closed_through"]))
        closed = row["closed_through"]
    for row, before in writer.sorted[PRACTICE].changed if PRACTICE in writer.sorted else ():
        if "closed_through" in row.given:
            closed = row["closed_through"]
        absent = [name for name in row.file.by_name if name not in row.given]
        for name, value in writer.attributes(row, ["closed_through", *absent]).items():
            setattr(before, name, value)
        before.save()
    return closed


def write_people(writer: Writer) -> None:
    for file, model in (
        ("clients.csv", Client),
        ("places.csv", Place),
        ("horses.csv", Horse),
        ("suppliers.csv", Supplier),
        ("items.csv", Item),
        ("services.csv", Service),
        ("vehicles.csv", Vehicle),
        ("signs.csv", Sign),
    ):
        writer.add(file, model)
        writer.change(file)
    writer.add("owners.csv", Owner)
    writer.add("bill_to.csv", BillTo)
    writer.add("prices.csv", Price)
    writer.add("tax_rates.csv", TaxRate)
    _mileage_rates(writer)
    writer.add("locations.csv", Location, ["ref", "vehicle"])
    for row in writer.new("locations.csv"):
        if vehicle := writer.find("vehicles.csv", row["vehicle"]):
            vehicle.location = writer.find("locations.csv", row["ref"])
            vehicle.save(update_fields=["location"])


def _mileage_rates(writer: Writer) -> None:
    """Write the practice's own mileage rates, which replace those the program knows."""
    for row in writer.new("mileage_rates.csv"):
        values = writer.attributes(row)
        key = {name: values.pop(name) for name in ("scheme", "valid_from", "tier_from")}
        own = {"from_program": False, "certainty": ""}
        MileageRate.objects.update_or_create(**key, defaults=values | own)
