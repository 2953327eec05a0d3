"""What to order on a day: what is expected of the horses and the road, against the shelf.

It takes long in a large book, so the server keeps it until a row of a table in `RESTS_ON` is another one.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from practice.lib.formats import counted
from practice.lib.kept import Kept
from practice.lib.profile import Profile
from practice.models import Horse, LifeEvent, MaterialReturn, MaterialUse, Place, Service, Visit, Work
from practice.reports.expected_use import Expectation, expected_use
from stock.models import Item, Movement, Order, OrderLine, Purchase, Supplier, Valuation
from stock.reports.levels import levels
from stock.reports.orders import deliveries
from stock.reports.reorder import Suggestion, suggestions

RESTS_ON = (
    *(Horse, LifeEvent, MaterialReturn, MaterialUse, Place, Profile, Service, Visit, Work),
    *(Item, Movement, Order, OrderLine, Purchase, Supplier, Valuation),
)


@dataclass(frozen=True)
class Plan:
    """What to order of every active item, those to order first, and what it rests on.

    The server keeps it for all who ask: nobody changes anything in it.
    """

    on: date
    expectation: Expectation
    suggestions: list[Suggestion]

    @property
    def answer(self) -> str:
        if self.to_order:
            return f"{counted(len(self.to_order), 'item')} to order."
        if self.waiting:
            return f"Nothing to order. {counted(len(self.waiting), 'item')} may run short until a delivery."
        return "Nothing to order." if self.suggestions else "There are no items on the shelf yet."

    @property
    def to_order(self) -> list[Suggestion]:
        return [row for row in self.suggestions if row.packs]

    @property
    def waiting(self) -> list[Suggestion]:
        """What is on order, and may run short before it comes."""
        return [row for row in self.suggestions if row.shortage and not row.packs]

    @property
    def low(self) -> list[Suggestion]:
        """What to order and what is waited for, in order of the day by which it may run short."""
        return sorted(self.to_order + self.waiting, key=lambda row: (row.short_from or date.max, row.item.pk))

    @property
    def lasting(self) -> list[Suggestion]:
        """What there is enough of."""
        return [row for row in self.suggestions if not row.packs and not row.shortage]


def on_hand_at(on: date) -> dict[int, Decimal]:
    """Return what was on hand at the end of a day, by the item's key."""
    return {item: level.on_hand for item, level in levels(on).items()}


def work_out_plan(on: date) -> Plan:
    """Return what to order, with the shelf as it was at the end of a day."""
    expectation, profile = expected_use(on), Profile.current()
    rows = suggestions(on, expectation.expected, on_hand_at(on), deliveries(on, profile), profile)
    return Plan(on, expectation, rows)


_kept = Kept(work_out_plan, RESTS_ON)


def plan_on(on: date) -> Plan:
    """Return what to order on a day, worked out once until something changes."""
    return _kept(on)


def to_order_on(on: date) -> list[Suggestion]:
    """Return what to order on a day, and nothing else."""
    return plan_on(on).to_order


def low_on(on: date) -> list[Suggestion]:
    """Return what to order on a day, and what may run short before it is delivered, the soonest first."""
    return plan_on(on).low
