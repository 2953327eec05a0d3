"""All dated prices of the practice, fetched once."""

from collections import defaultdict
from datetime import date
from decimal import Decimal

from billing.models import Price
from billing.rules.pricing import LineOf, price_for

ANY_LINE = LineOf()


class PriceList:
    """The price of one unit on a day, for a line: special prices go before the general one."""

    def __init__(self):
        self._services, self._items = defaultdict(list), defaultdict(list)
        for row in Price.objects.order_by("pk"):
            table = self._services if row.service_id else self._items
            table[row.service_id or row.item_id].append(row.as_dated())

    def service(self, service_id: int, on: date, line: LineOf = ANY_LINE) -> Decimal | None:
        """Return the price of one unit on a day; None: there is none."""
        return price_for(self._services[service_id], on, line)

    def item(
        self, item_id: int, on: date, sale_price: Decimal | None, line: LineOf = ANY_LINE
    ) -> Decimal | None:
        """Return the price of one unit on a day; None: covered by the price of the work."""
        return price_for(self._items[item_id], on, line, sale_price)
