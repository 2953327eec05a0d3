"""What to order on a day: what is expected of the horses and the road, against the shelf."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from practice.lib.formats import counted
from practice.lib.profile import Profile
from practice.reports.expected_use import Expectation, expected_use
from stock.reports.levels import levels
from stock.reports.orders import on_order
from stock.reports.reorder import Suggestion, suggestions


@dataclass(frozen=True)
class Plan:
    """What to order of every active item, those to order first, and what it rests on."""

    on: date
    expectation: Expectation
    suggestions: list[Suggestion]

    @property
    def answer(self) -> str:
        if self.to_order:
            return f"{counted(len(self.to_order), 'item')} to order."
        return "Nothing to order." if self.suggestions else "There are no items on the shelf yet."

    @property
    def to_order(self) -> list[Suggestion]:
        return [row for row in self.suggestions if row.packs]

    @property
    def lasting(self) -> list[Suggestion]:
        """What there is enough of."""
        return [row for row in self.suggestions if not row.packs]


def on_hand_at(on: date) -> dict[int, Decimal]:
    """Return what was on hand at the end of a day, by the item's key."""
    return {item: level.on_hand for item, level in levels(on).items()}


def plan_on(on: date) -> Plan:
    """Return what to order, with the shelf as it was at the end of a day."""
    expectation = expected_use(on)
    rows = suggestions(on, expectation.expected, on_hand_at(on), on_order(on), Profile.current())
    return Plan(on, expectation, rows)


def to_order_on(on: date) -> list[Suggestion]:
    """Return what to order on a day, and nothing else."""
    return plan_on(on).to_order
