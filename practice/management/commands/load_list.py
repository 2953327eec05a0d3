"""`manage.py load_list`: what the planned visits of a day should need, against what is on the truck."""

import json
from datetime import date

from django.core.management import BaseCommand

from practice.lib.formats import quantity
from practice.lib.iso import iso_date
from practice.lib.plain import plain, plain_chance
from practice.lib.profile import Profile
from practice.reports.load_list import VehicleLoad, load_list


class Command(BaseCommand):
    help = "Says what the planned visits of a day should need, against what is on the truck."

    def add_arguments(self, parser):
        parser.add_argument("--date", type=iso_date, required=True, help="the day, YYYY-MM-DD")
        parser.add_argument("--json", action="store_true", help="one JSON document on standard output")

    def handle(self, *, date, **options):
        loads = load_list(date)
        if options["json"]:
            self.stdout.write(json.dumps(as_json(date, loads), ensure_ascii=False, indent=1))
        else:
            self.report(loads)

    def report(self, loads: list[VehicleLoad]) -> None:
        locale = Profile.current().locale
        if not loads:
            self.stdout.write("No stops are planned for that day.")
        for load in loads:
            self.stdout.write(f"{load.vehicle or 'No vehicle'}:")
            for row in load.items:
                parts = [
                    f"{quantity(row.load, locale)} needed",
                    f"{quantity(row.on_truck, locale)} on the truck",
                ]
                if row.take_from_shop:
                    parts.append(f"take {quantity(row.take_from_shop, locale)} from the shop")
                if row.buy:
                    parts.append(f"buy {quantity(row.buy, locale)}")
                self.stdout.write(f"  {row.item}: {', '.join(parts)}")


def as_json(on: date, loads: list[VehicleLoad]) -> dict:
    """Return the document of the contract; every number is text in plain decimal notation."""
    return {
        "date": on.isoformat(),
        "vehicles": [
            {
                "vehicle": load.vehicle.key if load.vehicle else "",
                "items": [
                    {
                        "item": row.item.key,
                        "expected": plain_chance(row.expected),
                        "spare": plain_chance(row.spare),
                        "on_truck": plain(row.on_truck),
                        "take_from_shop": plain(row.take_from_shop),
                        "buy": plain(row.buy),
                    }
                    for row in load.items
                ],
            }
            for load in loads
        ],
    }
