"""Forms of prices and tax rates."""

from decimal import Decimal

from billing.models import TaxRate
from practice.lib.form_fields import PriceField
from practice.lib.forms import (
    BookForm,
    BookModelForm,
    PlannedDayField,
    odd_times,
)
from practice.models import Service
from stock.models import Item
from stock.rules.odd import times_usual


class PriceForm(BookForm):
    """A price of one unit from a day on."""

    since = PlannedDayField(label="Starting")
    price = PriceField(label="Unit price", low=Decimal(0), example="145.00")

    def __init__(self, *args, thing: Service | Item, **kwargs):
        super().__init__(*args, **kwargs)
        self.thing = thing
        self.fields["price"].money = isinstance(thing, Service)

    def odd(self):
        before = list(self.thing.prices.values_list("price", flat=True))
        before += filter(None, [getattr(self.thing, "sale_price", None)])
        times = times_usual(self.cleaned_data["price"], before)
        yield from odd_times("price_far_above_usual", "price", times, "the usual price")


class TaxRateForm(BookModelForm):
    class Meta:
        model = TaxRate
        fields = ["name", "rate", "area", "valid_from", "valid_to"]
        labels = {
            "rate": "Rate in percent",
            "area": "Area",
            "valid_from": "First day",
            "valid_to": "Last day",
        }
        help_texts = {
            "area": "Spelled as on the page of a place. Leave blank for everywhere.",
            "valid_to": "Leave blank if it holds until the next rate of this name and area.",
        }
        field_classes = {"valid_from": PlannedDayField}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["rate"].low, self.fields["rate"].high = Decimal(0), Decimal(100)
        self.fields["rate"].example = "5.25"

    def clean(self):
        data = super().clean()
        for name in ("name", "area"):
            if ";" in data.get(name, ""):
                self.add_error(name, "Leave out the semicolon.")
        begin, end = data.get("valid_from"), data.get("valid_to")
        if begin and end and end < begin:
            self.add_error("valid_to", "The last day is before the first.")
        return data
