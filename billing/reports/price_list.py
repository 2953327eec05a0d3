"""The prices of a day, for pages of the apps below: they get `prices_on` as an argument."""

from datetime import date
from decimal import Decimal

from billing.reports.billable import PriceList
from stock.models import Item


class PricesOfDay:
    """Prices of one unit on a day; None where there is none."""

    def __init__(self, on: date):
        self._list, self._on = PriceList(), on

    def service(self, service_id: int) -> Decimal | None:
        return self._list.service(service_id, self._on)

    def item(self, item: Item) -> Decimal | None:
        return self._list.item(item.pk, self._on, item.sale_price)


def prices_on(on: date) -> PricesOfDay:
    """Return the prices of a day."""
    return PricesOfDay(on)
