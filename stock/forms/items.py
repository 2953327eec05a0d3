"""Forms of items, suppliers and locations."""

from decimal import Decimal

from django import forms

from practice.lib.form_fields import PercentField, PriceField
from practice.lib.forms import BookModelForm, NamedForm, odd_times
from practice.lib.unit_input import UnitInput
from stock.models import Item, Location, Supplier
from stock.models.item import SINGLY
from stock.rules.odd import times_usual

DAYS = (0, 365)


class ItemForm(NamedForm):
    ranges = {"lead_time_days": DAYS, "shelf_order": (0, 100_000)}
    service_level = PercentField(
        label="How sure to have enough, in percent",
        help_text="Such as 95: enough on hand 95 times out of 100. The surer, the more to order.",
        initial=Item._meta.get_field("service_level").default,
        low=Decimal(0),
        high=Decimal("99.9999"),
        example="95",
    )

    class Meta:
        model = Item
        fields = [
            "name",
            "kind",
            "pattern",
            "size",
            "fits",
            "side",
            "material",
            "clips",
            "unit",
            "pack_size",
            "sale_price",
            "taxable",
            "supplier",
            "lead_time_days",
            "service_level",
            "shelf_order",
        ]
        field_classes = {"sale_price": PriceField}
        widgets = {"unit": UnitInput}
        labels = {
            "material": "Made of",
            "unit": "Counted in",
            "pack_size": "Units per pack",
            "sale_price": "Sale price",
            "taxable": "Taxable",
            "lead_time_days": "Delivery time, in days",
            "shelf_order": "Position on the shelf",
        }
        help_texts = {
            "material": "Such as steel or aluminum.",
            "clips": "Such as toe clip or side clips. Leave it blank for none.",
            "unit": "Choose one, or type your own word, such as tube.",
            "sale_price": "Leave it blank if it is included in the price of the work.",
            "taxable": "What is taxable depends on where you are. Ask a licensed tax preparer.",
            "lead_time_days": "Leave it blank to use the supplier's.",
            "shelf_order": "Such as 12, for count sheets. Leave it blank to sort by kind, pattern and size.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["pack_size"].above = Decimal(0)
        self.fields["sale_price"].low = Decimal(0)
        if self.instance.pk and (self.instance.movements.exists() or self.instance.order_lines.exists()):
            self.fields["unit"].disabled = True
            self.fields["unit"].help_text = "Fixed, because the book has counts or orders in this unit."

    def clean(self):
        data = super().clean()
        size = data.get("pack_size")
        if size is not None and data.get("unit", "").strip() == SINGLY and size % 1:
            self.add_error("pack_size", "What is counted singly comes in whole numbers, such as 250.")
        return data

    def odd(self):
        yield from super().odd()
        price, before = self.cleaned_data["sale_price"], self.initial.get("sale_price")
        times = times_usual(price or Decimal(0), [before] if before else [])
        yield from odd_times("price_far_above_usual", "sale_price", times, "the price so far")


class SupplierForm(BookModelForm):
    ranges = {"lead_time_days": DAYS}

    class Meta:
        model = Supplier
        fields = ["name", "phone", "email", "lead_time_days"]
        field_classes = {"email": forms.EmailField}
        labels = {"lead_time_days": "Delivery time, in days"}


class LocationForm(BookModelForm):
    class Meta:
        model = Location
        fields = ["name"]
