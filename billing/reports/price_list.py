"""The prices of a day, for pages of the apps below: they get `prices_on` as an argument."""

from datetime import date
from decimal import Decimal

from billing.reports.prices import PriceList
from billing.reports.who_pays import WhoPays
from billing.rules.pricing import LineOf
from practice.models import Horse, Place
from stock.models import Item


class PricesOfDay:
    """Prices of one unit on a day, for a horse at a place or for everybody; None where there is none."""

    def __init__(self, on: date, horse: Horse | None, place: Place | None):
        self._list, self._on = PriceList(), on
        self._horse, self._place = horse and horse.pk, place and place.pk
        self._who_pays = WhoPays([horse.pk] if horse else [])

    def service(self, service_id: int) -> Decimal | None:
        return self._list.service(service_id, self._on, self._line(service_id))

    def item(self, item: Item) -> Decimal | None:
        return self._list.item(item.pk, self._on, item.sale_price, self._line(None))

    def _line(self, service_id: int | None) -> LineOf:
        return self._who_pays.line(self._horse, service_id, self._place, self._on)


def prices_on(on: date, horse: Horse | None = None, place: Place | None = None) -> PricesOfDay:
    """Return the prices of a day: what a horse costs at a place, or without them the general prices."""
    return PricesOfDay(on, horse, place)
