"""The year's miles by vehicle, and what they are worth by the standard rate and by actual costs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from billing.models import MileageRate
from billing.rules.mileage import Actual, BusinessDay, Standard, actual_cost, business_share, standard
from practice.lib.countries import MileageScheme
from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.reports.driven import VehicleDistances, driven_in

ZERO = Decimal(0)


@dataclass(frozen=True)
class VehicleMiles:
    """What one vehicle drove, and what that is worth both ways. `standard` is None where no rate is shown."""

    driven: VehicleDistances
    standard: Decimal | None
    actual: Actual


@dataclass(frozen=True)
class Miles:
    """Distances in the practice's unit. `standard` and `actual` are both shown, neither is advised.

    `left_out`: vehicle costs that name none of several vehicles in use, in no vehicle's costs.
    """

    unit: str
    vehicles: tuple[VehicleMiles, ...]
    standard: Standard
    parking_and_tolls: Decimal
    left_out: Decimal = ZERO

    @property
    def is_measured(self) -> bool:
        """Whether it is known of each vehicle what is not logged."""
        return all(row.is_measured for row in self.driven)

    @property
    def driven(self) -> list[VehicleDistances]:
        return [row.driven for row in self.vehicles]

    def by_standard_rate(self, scheme: MileageScheme) -> Decimal:
        """Return what the standard rate comes to, with parking and tolls where the scheme has them on top."""
        return self.standard.total + (self.parking_and_tolls if scheme.parking_on_top else ZERO)

    @property
    def business(self) -> Decimal:
        return sum((row.business for row in self.driven), ZERO)

    @property
    def commuting(self) -> Decimal:
        return sum((row.commuting for row in self.driven), ZERO)

    @property
    def personal(self) -> Decimal:
        return sum((row.personal for row in self.driven), ZERO)

    @property
    def unlogged(self) -> Decimal:
        return sum((row.unlogged for row in self.driven), ZERO)

    @property
    def total(self) -> Decimal:
        return sum((row.total for row in self.driven), ZERO)

    @property
    def actual(self) -> Actual:
        """The vehicles' costs and their business parts added up; the share is that of all distances."""
        return Actual(
            sum((row.actual.costs for row in self.vehicles), ZERO),
            business_share(self.business, self.total),
            sum((row.actual.amount for row in self.vehicles), ZERO),
        )


def miles_in(
    year: Period, profile: Profile, vehicle_costs: Mapping[int | None, Decimal], parking_and_tolls: Decimal
) -> Miles:
    """Return the miles of a tax year. `vehicle_costs` by the vehicle's key, None: no vehicle is named."""
    driven = driven_in(year, also=vehicle_costs)
    rates = MileageRate.objects.of_scheme(profile.mileage_scheme).as_rates()
    worth = standard(profile.scheme, day_miles(driven), rates, year, profile.distance_unit, profile.currency)
    costs, left_out = costs_by_vehicle(driven, vehicle_costs)
    return Miles(
        unit=profile.distance_unit,
        vehicles=tuple(
            VehicleMiles(
                row,
                worth.of(row.vehicle.key) if worth.rows else None,
                actual_cost(costs[row.vehicle.pk], profile.currency, business=row.business, total=row.total),
            )
            for row in driven
        ),
        standard=worth,
        parking_and_tolls=parking_and_tolls,
        left_out=left_out,
    )


def costs_by_vehicle(
    driven: Sequence[VehicleDistances], vehicle_costs: Mapping[int | None, Decimal]
) -> tuple[dict[int, Decimal], Decimal]:
    """Return each vehicle's costs by its key, and what is left out.

    A cost that names no vehicle is that of the only one in use; it is left out where there is no such one.
    """
    costs = {row.vehicle.pk: vehicle_costs.get(row.vehicle.pk, ZERO) for row in driven}
    in_use = [row.vehicle.pk for row in driven if row.is_in_use]
    unnamed = vehicle_costs.get(None, ZERO)
    if len(in_use) != 1:
        return costs, unnamed
    costs[in_use[0]] += unnamed
    return costs, ZERO


def day_miles(vehicles: Sequence[VehicleDistances]) -> list[BusinessDay]:
    """Return the business distance of each vehicle and day, in date order."""
    rows = [
        BusinessDay(day, driven.vehicle.key, distance)
        for driven in vehicles
        for day, distance in driven.business_by_day
    ]
    return sorted(rows, key=lambda row: row.date)
