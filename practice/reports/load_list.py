"""What has to be on a truck for the planned visits of a day."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from practice.lib.formats import counted
from practice.models import Vehicle, Visit
from practice.reports.expected_use import expected_use
from stock.models import Balance, Item, Location
from stock.reports.demand import DemandInputs
from stock.reports.lots import LotLeft, lots_on_hand
from stock.rules.planning import Demand, Unplanned, demand

ZERO = Decimal(0)
# A spare goes along where the chance of needing one is over this: common practice, no source.
LEFT_TO_CHANCE = 0.10


@dataclass(frozen=True)
class ItemLoad:
    """One item for one truck. Quantities in its unit; `expected` is the mean of what is needed.

    `spare` comes on top of it, so that the chance of needing more is at most a tenth. What the truck
    lacks comes `from_shops`, as (location, quantity), as far as that goes; the rest is to `buy`. `lots` are
    those of an item with a use-by date, the earliest first.
    """

    item: Item
    need: Demand
    on_truck: Decimal
    from_shops: list[tuple[Location, Decimal]]
    buy: Decimal
    lots: list[LotLeft]

    @property
    def take_from_shop(self) -> Decimal:
        return sum((quantity for _, quantity in self.from_shops), ZERO)

    @property
    def expected(self) -> float:
        return self.need.mean

    @property
    def load(self) -> Decimal:
        """What has to be on the truck."""
        return self.need.quantile(1 - LEFT_TO_CHANCE)

    @property
    def spare(self) -> float:
        return max(float(self.load) - self.expected, 0.0)


@dataclass(frozen=True)
class VehicleLoad:
    """The load of one vehicle (None: visits without one). `visits` in driving order.

    `truck` is the location that it carries; None where the practice keeps no locations.
    """

    vehicle: Vehicle | None
    truck: Location | None
    visits: list[Visit]
    items: list[ItemLoad]

    @property
    def key(self) -> int:
        return self.vehicle.pk if self.vehicle else 0

    @property
    def route(self) -> str:
        """The places in driving order: `Mill Farm, Ridge Barn`."""
        return ", ".join(str(visit.place) for visit in self.visits)

    @property
    def to_buy(self) -> list[ItemLoad]:
        return [row for row in self.items if row.buy]

    @property
    def to_take(self) -> list[ItemLoad]:
        return [row for row in self.items if row.take_from_shop]


@dataclass(frozen=True)
class LoadPage:
    """A day's load list as a page and on paper."""

    on: date
    loads: list[VehicleLoad]

    @property
    def to_buy(self) -> int:
        return sum(len(load.to_buy) for load in self.loads)

    @property
    def to_take(self) -> int:
        return sum(len(load.to_take) for load in self.loads)

    @property
    def answer(self) -> str:
        if not self.loads:
            return "No stops are planned for this day."
        buy = f"{counted(self.to_buy, 'item')} to buy"
        take = f"{counted(self.to_take, 'item')} to take from the shop"
        if self.to_buy and self.to_take:
            return f"{buy}, {self.to_take} to take from the shop."
        if self.to_buy or self.to_take:
            return f"{buy if self.to_buy else take}."
        return "Everything is on the truck."


def load_list(on: date, today: date) -> list[VehicleLoad]:
    """Return what the planned visits of a day should need, by vehicle, against what is on its truck.

    Who is expected is judged today, or on that day where it is past: by all visits planned from then on.
    """
    asked = min(on, today)
    visits = list(
        Visit.objects.planned().filter(date=on).select_related("vehicle", "place").in_driving_order()
    )
    planned = Visit.objects.planned().filter(date__gte=asked).order_by("date", "pk")
    inputs = {row.key: row for row in expected_use(asked, planned).expected.inputs if row.planned}
    by_vehicle: dict[Vehicle | None, list[Visit]] = defaultdict(list)
    for visit in sorted(visits, key=lambda visit: (visit.vehicle_id is None, visit.vehicle_id or 0)):
        by_vehicle[visit.vehicle].append(visit)
    shelf = _Shelf(on)
    return [
        VehicleLoad(
            vehicle,
            shelf.truck_of(vehicle),
            stops,
            _loads(shelf.truck_of(vehicle), [inputs.get(stop.pk) for stop in stops], shelf),
        )
        for vehicle, stops in by_vehicle.items()
    ]


class _Shelf:
    """How much is at which location; what one truck takes along is gone for the next."""

    def __init__(self, on: date):
        self.on = on
        trucks = set(Vehicle.objects.filter(location__isnull=False).values_list("location", flat=True))
        self.locations = Location.objects.order_by("pk").in_bulk()
        self.shops = [location for location in self.locations if location not in trucks]
        self.left: dict[tuple[int | None, int], Decimal] = defaultdict(Decimal)
        for location, item, quantity in Balance.objects.values_list("location", "item", "quantity"):
            self.left[location, item] += quantity

    def truck_of(self, vehicle: Vehicle | None) -> Location | None:
        """Return where a vehicle carries its stock: its own location, else the first."""
        if vehicle and vehicle.location_id:
            return self.locations[vehicle.location_id]
        return next(iter(self.locations.values()), None)

    def take(self, truck: int | None, item: int, load: Decimal) -> tuple[Decimal, list, Decimal]:
        """Return what is on the truck, what comes from which shop, and what is missing."""
        on_truck = self.left[truck, item]
        self.left[truck, item] -= min(load, max(on_truck, ZERO))
        missing, from_shops = max(load - max(on_truck, ZERO), ZERO), []
        for shop in self.shops:
            part = min(missing, max(self.left[shop, item], ZERO))
            if shop != truck and part:
                self.left[shop, item] -= part
                from_shops.append((self.locations[shop], part))
                missing -= part
        return on_truck, from_shops, missing


def _loads(truck: Location | None, inputs: Iterable[DemandInputs | None], shelf: _Shelf) -> list[ItemLoad]:
    inputs = [_on_its_day(group) for group in inputs if group]
    wanted = {item for group in inputs for candidate in group.candidates for item in candidate.amounts}
    rows, items = [], list(Item.objects.filter(pk__in=wanted).order_by("pk"))
    lots = lots_on_hand([item.pk for item in items if item.has_lots], shelf.on)
    for item in items:
        groups = [(group.of_item(item.pk), {(1,) * len(group.candidates): 1.0}) for group in inputs]
        need = demand(groups, Unplanned(0.0), window=1)
        load = need.quantile(1 - LEFT_TO_CHANCE)
        of_item = [row for row in lots if row.item == item and (row.lot or row.use_by)]
        rows.append(ItemLoad(item, need, *shelf.take(truck.pk if truck else None, item.pk, load), of_item))
    return rows


def _on_its_day(group: DemandInputs) -> DemandInputs:
    """Return the group of a planned visit as it stands on its own day."""
    return replace(group, candidates=tuple(replace(candidate, day=1) for candidate in group.candidates))
