"""The page of a horse at a visit: what can be tapped, with prices, and with what is on the truck."""

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from decimal import Decimal
from functools import cached_property

from django.core.exceptions import NON_FIELD_ERRORS

from practice.lib.formats import counted
from practice.models import Finding, Service
from practice.reports.horse_at_visit import DayPrices, HorseAtVisit
from practice.reports.sheet_rows import FootOnSheet, ItemOnSheet, SizePicker
from practice.rules.charges import horse_amount, unit_price
from practice.rules.horse_work import FEET, FORE, HIND, HorseWork, ServiceFacts, UseLine
from stock.models import Balance, Fits, Item, ItemKind, Location, Side
from stock.reports.sizes import Grid, size_rows

NOTHING_CHOSEN = "Nothing chosen yet"
CHEMICAL = (ItemKind.SEALANT, ItemKind.ADHESIVE)


class HorseSheet:
    """What the page shows of a state of the form; `uses` are the materials it stands for.

    `unread` names the fields that hold something that is no number: while there is one, there is no total.
    `open_foot` is the foot whose sizes are shown, if any.
    """

    def __init__(
        self,
        at: HorseAtVisit,
        state: HorseWork,
        uses: Sequence[UseLine],
        prices: DayPrices,
        unread: AbstractSet[str] = frozenset(),
        open_foot: str = "",
    ):
        self.at, self.state, self.uses, self.prices = at, state, uses, prices
        self.unread, self.open_foot = unread, open_foot

    @property
    def services(self) -> list[tuple[Service, Decimal | None, bool]]:
        """Each service with its price, None where the list has none, and whether it was tapped."""
        chosen = self.state.services
        return [(row, self.prices.service(row.pk), row.pk in chosen) for row in self.at.services.values()]

    @cached_property
    def facts(self) -> list[ServiceFacts]:
        """The services that were tapped, as plain values."""
        return self.at.facts_of(self.state.services)

    @property
    def say(self) -> str:
        """What was chosen, beside the sum: `Trim, Lost shoe`."""
        if self.state.work and self.unread - {NON_FIELD_ERRORS}:
            return "A number cannot be read."
        return ", ".join(str(self.at.services[key]) for key in self.state.services) or NOTHING_CHOSEN

    @property
    def free_renails(self) -> list[tuple[Service, str, bool]]:
        """The services that put a lost shoe back for nothing, why, and whether one is chosen at 0."""
        at, zero = self.at, {line.service for line in self.state.work if line.price == 0}
        free = [at.services[facts.key] for facts in at.facts_of(at.services) if at.renails.include(facts)]
        return [(service, at.renails.why([service]), service.pk in zero) for service in free]

    @property
    def is_hot(self) -> bool:
        return any(facts.is_hot for facts in self.facts)

    @property
    def is_only_trimmed(self) -> bool:
        """Whether the feet are trimmed and none is nailed."""
        return self._is_trimmed and not any(facts.nailed for facts in self.facts if facts.resets_cycle)

    @property
    def _is_trimmed(self) -> bool:
        return any(facts.resets_cycle for facts in self.facts)

    @cached_property
    def feet(self) -> list[FootOnSheet]:
        shoes = {foot: self.at.items.get(key) for foot, key in self.state.shoes.items()}
        worn = self.at.usual.worn
        return [
            FootOnSheet(
                foot,
                foot in self.state.feet,
                foot in worn,
                worn.get(foot),
                shoes.get(foot),
                self._is_trimmed,
                foot == self.open_foot,
            )
            for foot in FEET
        ]

    @property
    def opened(self) -> FootOnSheet | None:
        """The foot whose sizes are shown."""
        return next((foot for foot in self.feet if foot.is_open), None)

    @property
    def foot_picker(self) -> SizePicker:
        """The sizes for the foot that is open: those that fit fore or hind, and its side."""
        foot = self.opened
        fits = Fits.FRONT if foot.foot in FORE else Fits.HIND
        other = Side.RIGHT if foot.foot.startswith("L") else Side.LEFT
        grid = size_rows(self._of(ItemKind.SHOE), self.on_hand, fits)
        rows = [row for row in grid.rows if other not in {cell.item.side for cell in row.cells if cell.item}]
        return SizePicker(foot.foot, foot.question, Grid(grid.sizes, rows), {foot.shoe})

    @property
    def nail(self) -> ItemOnSheet | None:
        item = self.at.items.get(self.state.nail)
        return self._with_count(item, self.state.nails) if item else None

    @property
    def shoes_and_nails(self) -> list[ItemOnSheet]:
        """What a tap on a size may choose."""
        rows = [*self._of(ItemKind.SHOE), *self._of(ItemKind.NAIL)]
        return [self._with_count(item, Decimal(0)) for item in rows]

    @cached_property
    def used(self) -> list[ItemOnSheet]:
        """The items with a count, or with something unreadable in its place, beside feet and nails."""
        counts = self.state.counts
        keys = [key for key in self.at.items if counts.get(key) or f"item_{key}" in self.unread]
        return [self._with_count(self.at.items[key], counts.get(key, Decimal(0))) for key in keys]

    @cached_property
    def unused(self) -> list[ItemOnSheet]:
        """The items that could be used as well, those of the last time among them."""
        used, last = [row.item for row in self.used], self.at.usual.last
        again = [self.at.items[key] for key in last.state.counts] if last else []
        rows = dict.fromkeys([*self.at.counted, *again])
        return [self._with_count(item, Decimal(0)) for item in rows if item not in used]

    def _with_count(self, item: Item, count: Decimal) -> ItemOnSheet:
        left = self.on_hand.get(item.pk, Decimal(0))
        where = "on the truck" if self.at.visit.vehicle else "on hand"
        return ItemOnSheet(item, count, left, self.prices.item(item), self.at.profile, where)

    @property
    def has_chemical(self) -> bool:
        return any(row.item.kind in CHEMICAL for row in self.used)

    @property
    def has_fuel(self) -> bool:
        return any(row.item.kind == ItemKind.FUEL for row in self.used)

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
        """Whether a quantity, price or note holds something that has to be seen."""
        typed = any(
            line.quantity not in (0, 1) or line.price is not None or line.note for line in self.state.work
        )
        return typed or any(name.startswith(("quantity_", "price_")) for name in self.unread)

    @property
    def about(self) -> str:
        """`Arabian, every 6 weeks`."""
        cycle = f"every {counted(self.at.horse.cycle_weeks, 'week')}"
        return f"{self.at.horse.breed}, {cycle}" if self.at.horse.breed else cycle

    @property
    def can_be_taken_off(self) -> bool:
        """Whether something of the horse is saved at the visit, and can still be taken back."""
        recorded = self.at.recorded
        has_something = recorded.work or recorded.materials or self.findings or self._has_record
        return bool(has_something) and not self.at.visit.is_fixed

    @property
    def _has_record(self) -> bool:
        return self.at.visit.feet.filter(horse=self.at.horse).exists()

    @cached_property
    def findings(self) -> list[Finding]:
        """What was seen at this visit."""
        return list(self.at.visit.findings.filter(horse=self.at.horse).order_by("pk"))
