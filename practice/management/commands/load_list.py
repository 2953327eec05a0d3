"""`manage.py load_list`: what the planned stops of a day are expected to use, and what is on the truck."""

from datetime import date

from practice.lib.formats import quantity
from practice.lib.plain import plain, plain_chance
from practice.lib.profile import Profile
from practice.lib.today import today
from practice.project.book_command import BookCommand, iso_date
from practice.reports.load_list import VehicleLoad, load_list


class Command(BookCommand):
    help = "Lists what the planned stops of a day are expected to use, and what is on the truck."
    offers_json = True

    def add_arguments(self, parser):
        parser.add_argument("--date", type=iso_date, metavar="DATE", required=True, help="the day")
        super().add_arguments(parser)

    def handle(self, *, date, **options):
        loads = load_list(date, today())
        if options["json"]:
            self.print_json(as_json(date, loads))
        else:
            self.report(date, loads)

    def report(self, date: date, loads: list[VehicleLoad]) -> None:
        locale = Profile.current().locale
        if not loads:
            self.stdout.write(f"No stops are planned for {date.isoformat()}.")
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
