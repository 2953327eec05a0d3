"""Lists of tax rates and mileage rates."""

import django_tables2 as tables
from django.utils.text import capfirst

from billing.models import MileageRate, TaxRate
from billing.models.rate_state import RateState
from billing.tables.words import in_words
from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.tables import RowTable


class TaxRateTable(RowTable):
    one, many = "tax rate", "tax rates"
    orders = {"state": "In force first", "name": "By name", "area": "By area"}
    state = tables.Column(order_by=("state", "name", "area", "-valid_from", "-pk"))
    name = tables.Column(order_by=("name", "area", "-valid_from", "-pk"))
    area = tables.Column(order_by=("area", "name", "-valid_from", "-pk"))

    class Meta(RowTable.Meta):
        model = TaxRate
        fields = ("state", "name", "area")
        empty_text = "No tax rates yet. Nothing is taxed until you add one."

    def heading(self, rate: TaxRate) -> str:
        if self.order == "area":
            return rate.area or "Everywhere"
        return RateState(rate.state).label if self.order == "state" else ""

    def row(self, rate: TaxRate) -> ListRow:
        return ListRow(
            rate.get_absolute_url(),
            rate.name,
            more=f"{rate.area or 'Everywhere'}, {days_of_rate(self, rate)}",
            fact=formats.percent(rate.rate, self.profile.locale),
        )


class MileageRateTable(RowTable):
    one, many = "rate", "rates"
    orders = {"state": "In force first"}
    state = tables.Column(order_by=("state", "-valid_from", "tier_from"))

    class Meta(RowTable.Meta):
        model = MileageRate
        fields = ("state",)
        empty_text = "There is no rate for this scheme. Only actual costs are shown."

    def heading(self, rate: MileageRate) -> str:
        return RateState(rate.state).label

    def row(self, rate: MileageRate) -> ListRow:
        style = self.profile.locale
        above = rate.tier_from and f"above {formats.quantity(rate.tier_from, style)} in the year"
        return ListRow(
            rate.get_absolute_url(),
            capfirst(days_of_rate(self, rate)),
            more=capfirst(in_words(rate.source, "" if rate.from_program else "added by you")),
            fact=formats.unit_price(rate.rate, self.profile.currency, style),
            note=above or "",
        )


def days_of_rate(table: RowTable, rate: TaxRate | MileageRate) -> str:
    """Return the days of a dated rate: `from Jan 1, 2026`, `Jan 1, 2025 to Dec 31, 2025`."""
    if rate.valid_to:
        return f"{table.day(rate.valid_from)} to {table.day(rate.valid_to)}"
    return f"from {table.day(rate.valid_from)}"
