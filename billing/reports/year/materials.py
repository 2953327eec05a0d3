"""The year's materials: what was on hand at its start, what came in and went out, what was left."""

from dataclasses import dataclass
from decimal import Decimal

from practice.lib.money import round_money
from practice.lib.periods import Period
from stock.reports.flow import Flow, flow_in


@dataclass(frozen=True)
class Materials:
    """The block adds up to the cent: opening + purchased − withdrawn + count adjustments − closing = used.

    Waste is used; returns to a supplier are taken off what was purchased. An opening shelf counted
    within the year stands in the opening value. `paid` is what deliveries cost that were paid within
    the year, `not_said` what those cost that came in it and have no payment date.
    """

    opening_value: Decimal
    purchased: Decimal
    withdrawn: Decimal
    count_adjustments: Decimal
    closing_value: Decimal
    paid: Decimal = Decimal(0)
    not_said: Decimal = Decimal(0)

    @property
    def used(self) -> Decimal:
        """What was used on horses or wasted, with later corrections of its cost."""
        return (
            self.opening_value + self.purchased - self.withdrawn + self.count_adjustments - self.closing_value
        )


def materials_in(year: Period, currency: str) -> Materials:
    """Return the materials of a tax year."""
    return materials_of(flow_in(year), currency)


def materials_of(flow: Flow, currency: str) -> Materials:
    """Return a flow as the year shows it: each amount rounded once."""
    return Materials(
        opening_value=round_money(flow.opening + flow.opened, currency),
        purchased=round_money(flow.received - flow.sent_back, currency),
        withdrawn=round_money(flow.withdrawn, currency),
        count_adjustments=round_money(flow.counted, currency),
        closing_value=round_money(flow.closing, currency),
        paid=round_money(flow.paid, currency),
        not_said=round_money(flow.paid_unknown, currency),
    )
