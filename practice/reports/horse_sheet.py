"""The page of a horse at a visit: what can be tapped, with prices, and with what is on the truck."""

from collections.abc import Callable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import Protocol

from practice.lib import formats
from practice.lib.profile import Profile
from practice.models import Finding, Foot, Horse, Service, Visit
from practice.reports.history import PastVisit, at_visit
from practice.reports.usual import UsualForHorse
from practice.rules.charges import horse_amount, unit_price
from practice.rules.horse_work import FEET, FORE, HIND, HorseWork, ServiceFacts, UseLine, WorkLine
from stock.models import Balance, Fits, Item, ItemKind, Location
from stock.reports.sizes import Grid, size_rows

CHEMICAL = (ItemKind.SEALANT, ItemKind.ADHESIVE)


class DayPrices(Protocol):
    """Prices of one unit on the visit's date, in the practice's currency; None where there is none."""

    def service(self, service_id: int) -> Decimal | None: ...

    def item(self, item: Item) -> Decimal | None: ...


# Gives the prices of a day; handed down by the root of the addresses, as prices are billing's.
Prices = Callable[[date], DayPrices]


class HorseAtVisit:
    """A horse at a visit: what is saved of it, what is usual, and the services and items to choose from."""

    def __init__(self, visit: Visit, horse: Horse, profile: Profile):
        self.visit, self.horse, self.profile = visit, horse, profile
        self.usual = UsualForHorse(horse, visit)

    @cached_property
    def recorded(self) -> PastVisit:
        return at_visit(self.visit, self.horse)

    @cached_property
    def services(self) -> dict[int, Service]:
        """The services in use, and those done here or the last time, by their keys."""
        done = [row.service_id for visit in self._past for row in visit.work]
        rows = Service.objects.current() | Service.objects.filter(pk__in=done)
        return {row.pk: row for row in rows.distinct().order_by("pk")}

    @cached_property
    def items(self) -> dict[int, Item]:
        """The items in use, and those used here or the last time, by their keys."""
        used = [use.item_id for visit in self._past for use in visit.materials]
        rows = Item.objects.current() | Item.objects.filter(pk__in=used)
        return {row.pk: row for row in rows.distinct().order_by("pk")}

    @property
    def _past(self) -> list[PastVisit]:
        return [visit for visit in (self.recorded, self.usual.last) if visit]

    @property
    def counted(self) -> list[Item]:
        """The items that are neither shoe nor nail, the pads this horse had first."""
        rows = [item for item in self.items.values() if item.kind not in (ItemKind.SHOE, ItemKind.NAIL)]
        return [item for item in self.usual.pads if item in rows] + [
            item for item in rows if item not in self.usual.pads
        ]

    def facts_of(self, service_id: int | None) -> ServiceFacts | None:
        """Return what a service says about feet and shoes, as a plain value."""
        service = self.services.get(service_id)
        if service is None:
            return None
        is_hot = service.fitted == Service.Fitted.HOT
        return ServiceFacts(service.pk, service.new_shoes or 0, service.feet_nailed or 0, is_hot)


@dataclass(frozen=True)
class FootOnSheet:
    """A foot of the form. `is_worn`: the horse came in with a shoe on it; `shoe` is the new one."""

    foot: str
    is_on: bool
    is_worn: bool
    shoe: Item | None

    @property
    def label(self) -> str:
        return Foot(self.foot).label

    @property
    def shod(self) -> str:
        """What it gets when it is tapped on."""
        if self.shoe is None:
            return "nailed"
        return f"No {self.shoe.size}" if self.shoe.size else "new shoe"


@dataclass(frozen=True)
class ItemOnSheet:
    """An item with its count: `on_hand` in its unit, `price` of one unit (None: covered by the work)."""

    item: Item
    count: Decimal
    on_hand: Decimal
    price: Decimal | None
    profile: Profile
    where: str

    @property
    def name(self) -> str:
        """The name of its field."""
        return f"item_{self.item.pk}"

    @property
    def is_single(self) -> bool:
        return self.item.unit == "each"

    @property
    def detail(self) -> str:
        """`14.00 each, 12 on the truck`."""
        words = f"{formats.quantity_of(self.on_hand, self.item.unit, self.profile.locale)} {self.where}"
        if self.price is None:
            return words
        price = formats.unit_price(self.price, self.profile.currency, self.profile.locale)
        return f"{price} {'each' if self.is_single else f'per {self.item.unit}'}, {words}"


@dataclass(frozen=True)
class SizePicker:
    """A grid of sizes to choose from: `which` is front, hind, or nail; `chosen` are the items on the feet."""

    which: str
    label: str
    grid: Grid
    chosen: set[Item | None]

    @property
    def is_shoe(self) -> bool:
        return self.which != ItemKind.NAIL


class HorseSheet:
    """What the page shows of a state of the form; `uses` are the materials it stands for.

    `unread` names the fields that hold something that is no number: while there is one, there is no total.
    """

    def __init__(
        self,
        at: HorseAtVisit,
        state: HorseWork,
        uses: Sequence[UseLine],
        prices: DayPrices,
        unread: AbstractSet[str] = frozenset(),
    ):
        self.at, self.state, self.uses, self.prices = at, state, uses, prices
        self.unread = unread

    @property
    def service(self) -> Service | None:
        return self.at.services.get(self.state.main.service)

    @property
    def services(self) -> list[tuple[Service, Decimal | None]]:
        """Each service with its price; None where the list has none."""
        return [(row, self.prices.service(row.pk)) for row in self.at.services.values()]

    @property
    def is_hot(self) -> bool:
        facts = self.at.facts_of(self.state.main.service)
        return bool(facts and facts.is_hot)

    @property
    def further(self) -> list[tuple[str, str]]:
        """The services beside it, by the key of their line: `Also Trim`, `Also Stud × 2`."""
        return [(line.key, self._also(line)) for line in self.state.further]

    def _also(self, line: WorkLine) -> str:
        words = f"Also {self.at.services[line.service]}"
        count = formats.quantity(line.quantity, self.at.profile.locale)
        return words if line.quantity == 1 else f"{words} × {count}"

    @cached_property
    def feet(self) -> list[FootOnSheet]:
        shoes = {foot: self.at.items.get(key) for foot, key in self.state.shoes.items()}
        on, worn = self.state.feet, self.at.usual.worn
        return [FootOnSheet(foot, foot in on, foot in worn, shoes.get(foot)) for foot in FEET]

    @property
    def new_shoes(self) -> list[FootOnSheet]:
        """The feet that get a new shoe."""
        return [foot for foot in self.feet if foot.is_on and foot.shoe]

    @property
    def nail(self) -> ItemOnSheet | None:
        item = self.at.items.get(self.state.nail)
        return self._with_count(item, self.state.nails) if item else None

    @cached_property
    def used(self) -> list[ItemOnSheet]:
        """The items with a count, or with something unreadable in its place, beside feet and nails."""
        counts = self.state.counts
        keys = [key for key in self.at.items if counts.get(key) or f"item_{key}" in self.unread]
        return [self._with_count(self.at.items[key], counts.get(key, Decimal(0))) for key in keys]

    @cached_property
    def unused(self) -> list[ItemOnSheet]:
        """The items that could be used as well."""
        used = [row.item for row in self.used]
        return [self._with_count(item, Decimal(0)) for item in self.at.counted if item not in used]

    def _with_count(self, item: Item, count: Decimal) -> ItemOnSheet:
        left = self.on_hand.get(item.pk, Decimal(0))
        where = "on the truck" if self.at.visit.vehicle else "on hand"
        return ItemOnSheet(item, count, left, self.prices.item(item), self.at.profile, where)

    @property
    def has_chemical(self) -> bool:
        return any(row.item.kind in CHEMICAL for row in self.used)

    @cached_property
    def on_hand(self) -> dict[int, Decimal]:
        """What the visit's truck carries, else the first location, by the item's key."""
        vehicle = self.at.visit.vehicle
        location = vehicle.location if vehicle else Location.objects.order_by("pk").first()
        rows = Balance.objects.filter(location=location)
        return {row.item_id: row.quantity for row in rows}

    @property
    def pickers(self) -> list[SizePicker]:
        """The grids that have something to choose from."""
        shoes, nails = self._of(ItemKind.SHOE), self._of(ItemKind.NAIL)
        nail = {self.at.items.get(self.state.nail)}
        rows = [
            SizePicker("front", "Front shoe", size_rows(shoes, self.on_hand, Fits.FRONT), self._on(FORE)),
            SizePicker("hind", "Hind shoe", size_rows(shoes, self.on_hand, Fits.HIND), self._on(HIND)),
            SizePicker("nail", "Nail", size_rows(nails, self.on_hand), nail),
        ]
        return [row for row in rows if row.grid.rows]

    def _of(self, kind: str) -> list[Item]:
        return [item for item in self.at.items.values() if item.kind == kind]

    def _on(self, feet: Sequence[str]) -> set[Item | None]:
        return {foot.shoe for foot in self.feet if foot.foot in feet and foot.is_on}

    @property
    def total(self) -> Decimal | None:
        """What the work and materials come to, without travel and tax; None while that is unclear."""
        if self.unread:
            return None
        work = [
            (line.quantity, unit_price(line.price, self.prices.service(line.service)))
            for line in self.state.work
        ]
        materials = [
            (use.quantity, unit_price(use.price, self.prices.item(self.at.items[use.item])))
            for use in self.uses
        ]
        return horse_amount(work, materials, self.at.profile.currency)

    @property
    def is_more_open(self) -> bool:
        """Whether quantity, price or note hold something that has to be seen."""
        main = self.state.main
        typed = main.quantity not in (0, 1) or main.price is not None or bool(main.note)
        return typed or not self.unread.isdisjoint({"quantity", "price"})

    @property
    def findings(self) -> list[Finding]:
        return list(self.at.visit.findings.filter(horse=self.at.horse).order_by("pk"))
