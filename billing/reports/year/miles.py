"""The year's miles by vehicle, and what they are worth by the standard rate and by actual costs."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from billing.models import MileageRate
from billing.rules.mileage import Actual, BusinessDay, Standard, actual_cost, standard
from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.reports.driven import VehicleDistances, driven_in

ZERO = Decimal(0)


@dataclass(frozen=True)
class Miles:
    """Distances in the practice's unit. `standard` and `actual` are both shown, neither is advised."""

    unit: str
    vehicles: tuple[VehicleDistances, ...]
    standard: Standard
    actual: Actual
    parking_and_tolls: Decimal

    @property
    def business(self) -> Decimal:
        return sum((row.business for row in self.vehicles), ZERO)

    @property
    def commuting(self) -> Decimal:
        return sum((row.commuting for row in self.vehicles), ZERO)

    @property
    def personal(self) -> Decimal:
        return sum((row.personal for row in self.vehicles), ZERO)

    @property
    def unlogged(self) -> Decimal:
        return sum((row.unlogged for row in self.vehicles), ZERO)

    @property
    def total(self) -> Decimal:
        return sum((row.total for row in self.vehicles), ZERO)


def miles_in(year: Period, profile: Profile, vehicle_costs: Decimal, parking_and_tolls: Decimal) -> Miles:
    """Return the miles of a tax year."""
    vehicles = tuple(driven_in(year))
    rates = MileageRate.objects.of_scheme(profile.mileage_scheme).as_rates()
    return Miles(
        unit=profile.distance_unit,
        vehicles=vehicles,
        standard=standard(
            profile.scheme,
            day_miles(vehicles),
            rates,
            year,
            profile.distance_unit,
            profile.currency,
        ),
        actual=actual_cost(
            vehicle_costs,
            profile.currency,
            business=sum((row.business for row in vehicles), ZERO),
            commuting=sum((row.commuting for row in vehicles), ZERO),
            personal=sum((row.personal for row in vehicles), ZERO),
            unlogged=sum((row.unlogged for row in vehicles), ZERO),
        ),
        parking_and_tolls=parking_and_tolls,
    )


def day_miles(vehicles: Sequence[VehicleDistances]) -> list[BusinessDay]:
    """Return the business distance of each vehicle and day, in date order."""
    rows = [
        BusinessDay(day, driven.vehicle.key, distance)
        for driven in vehicles
        for day, distance in driven.business_by_day
    ]
    return sorted(rows, key=lambda row: row.date)
