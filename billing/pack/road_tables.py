"""The mileage log, its sums by vehicle, and the standard rate."""

from collections import Counter
from decimal import Decimal

from django.utils.text import capfirst

from billing.pack.tables import YearTables
from practice.lib.sheet_tables import AMOUNT, DAY, DISTANCE, NUMBER, RATE, Cell, Formula, Table, columns
from practice.models import Vehicle
from practice.reports.mileage_log import mileage_log

VEHICLE_NUMBER = "vehicle number"


class RoadTables(YearTables):
    """The mileage log, its sums by vehicle, and the standard rate."""

    def gather(self) -> None:
        names = Counter(Vehicle.objects.values_list("name", flat=True))
        self.vehicles = {
            row.pk: f"{row.name}, {row.key}" for row in Vehicle.objects.all() if names[row.name] > 1
        }
        # Sums go by number: for a spreadsheet `*Truck*` and `*truck*` are one name, and patterns at that.
        keys = Vehicle.objects.order_by("pk").values_list("pk", flat=True)
        self.numbers = {key: number for number, key in enumerate(keys, start=1)}
        self.miles = self._miles()
        self.by_vehicle, self.standard = self._by_vehicle(), self._standard()

    def _named(self, vehicle: Vehicle) -> str:
        """Return what a vehicle is called here: two of one name are told apart."""
        return self.vehicles.get(vehicle.pk, vehicle.name)

    def _miles(self) -> Table:
        rows = mileage_log(self.period.begin, self.period.end)
        return Table(
            "Mileage log",
            "mileage_log.csv",
            columns(
                ("date", DAY),
                "vehicle",
                ("odometer from", DISTANCE),
                ("odometer to", DISTANCE),
                "from",
                "to",
                "reason",
                "purpose",
                ("distance", DISTANCE, True),
                "how it was measured",
                ("entered on", DAY),
                ("changed on", DAY),
                (VEHICLE_NUMBER, NUMBER),
            ),
            tuple(
                (
                    row.date,
                    self._named(row.vehicle),
                    row.start,
                    row.end,
                    row.origin,
                    row.destination,
                    row.reason,
                    row.purpose,
                    row.distance,
                    "estimated" if row.estimated else "",
                    row.made_on,
                    row.changed_on,
                    self.numbers[row.vehicle.pk],
                )
                for row in rows
            ),
        )

    def _by_vehicle(self) -> Table:
        distance, purpose = self.miles.cells("distance"), self.miles.cells("purpose")
        vehicle = self.miles.cells(VEHICLE_NUMBER)

        def driven(word: str, value: Decimal) -> Formula:
            return Formula(f'SUMIFS({distance},{vehicle},$L{{row}},{purpose},"{word}")', value)

        return Table(
            f"{capfirst(self.profile.unit.many)} by vehicle",
            "miles_by_vehicle.csv",
            columns(
                "vehicle",
                ("business", DISTANCE, True),
                ("commuting", DISTANCE, True),
                ("personal", DISTANCE, True),
                ("not logged", DISTANCE, True),
                ("total", DISTANCE, True),
                ("odometer, first", DISTANCE),
                ("odometer, last", DISTANCE),
                ("standard rate", AMOUNT, True),
                ("vehicle costs", AMOUNT, True),
                ("by actual costs", AMOUNT, True),
                (VEHICLE_NUMBER, NUMBER),
            ),
            tuple(
                (
                    self._named(row.vehicle),
                    driven("business", row.business),
                    driven("commuting", row.commuting),
                    driven("personal", row.personal),
                    driven("not logged", row.unlogged) if row.is_measured else "unknown",
                    Formula("SUM(B{row}:E{row})", row.total),
                    row.first_odometer,
                    row.last_odometer,
                    each.standard,
                    each.actual.costs,
                    Formula(
                        f"IF(F{{row}}=0,0,ROUND(J{{row}}*B{{row}}/F{{row}},{self.digits}))",
                        each.actual.amount,
                    ),
                    self.numbers[row.vehicle.pk],
                )
                for each in self.year.miles.vehicles
                for row in [each.driven]
            ),
        )

    def _standard(self) -> Table:
        same_unit = all(row.rate_unit == self.profile.distance_unit for row in self.year.miles.standard.rows)
        rows = []
        for row in self.year.miles.standard.rows:
            worth: Cell = row.amount
            if same_unit:
                worth = Formula(f"ROUND(E{{row}}*F{{row}},{self.digits})", row.amount)
            rows.append(
                (
                    row.begin,
                    row.end,
                    row.vehicle or "",
                    row.tier_from,
                    row.distance,
                    row.rate,
                    worth,
                    "provisional: the last known rate" if row.carried else "",
                )
            )
        return Table(
            "Standard rate",
            "standard_rate.csv",
            columns(
                ("from", DAY),
                ("to", DAY),
                "vehicle",
                ("above", DISTANCE),
                ("distance", DISTANCE, True),
                ("rate", RATE),
                ("amount", AMOUNT, True),
                "note",
            ),
            tuple(rows),
        )
