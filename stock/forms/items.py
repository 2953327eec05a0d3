"""Forms of items, suppliers and locations."""

from decimal import Decimal

from django import forms

from practice.lib.forms import BookForm, BookModelForm, DayField, NumberField
from stock.models import Item, Location, Supplier


class ItemForm(BookModelForm):
    class Meta:
        model = Item
        fields = [
            "name",
            "kind",
            "pattern",
            "size",
            "fits",
            "side",
            "unit",
            "pack_size",
            "sale_price",
            "taxable",
            "supplier",
            "lead_time_days",
            "service_level",
            "shelf_order",
        ]
        labels = {
            "unit": "Counted in",
            "pack_size": "In a pack",
            "sale_price": "Sale price",
            "taxable": "Taxed",
            "lead_time_days": "Days until it comes",
            "service_level": "Chance that it is there",
            "shelf_order": "Place on the shelf",
        }
        help_texts = {
            "unit": "Such as each, ml, g.",
            "sale_price": "Blank: covered by the price of the work.",
            "taxable": "What is taxed differs from place to place: ask a licensed tax preparer.",
            "service_level": "Between 0 and 1, such as 0.95.",
            "shelf_order": "A number; blank: by kind, pattern and size. Count sheets follow it.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["pack_size"].above = Decimal(0)
        self.fields["sale_price"].low = Decimal(0)
        self.fields["service_level"].low = Decimal(0)
        self.fields["service_level"].high = Decimal("0.999999")
        if self.instance.pk and (self.instance.movements.exists() or self.instance.order_lines.exists()):
            self.fields["unit"].disabled = True


class SupplierForm(BookModelForm):
    class Meta:
        model = Supplier
        fields = ["name", "phone", "email", "lead_time_days"]
        labels = {"lead_time_days": "Days until a delivery comes"}


class DeliveryForm(BookForm):
    """What came in of one item."""

    date = DayField(label="On")
    quantity = NumberField(label="How many, in units", above=Decimal(0), example="20")
    unit_cost = NumberField(label="Cost of one", low=Decimal(0), example="3.40")
    supplier = forms.ModelChoiceField(Supplier.objects.none(), required=False, label="From")
    reference = forms.CharField(required=False, label="Delivery note", max_length=200)
    location = forms.ModelChoiceField(Location.objects.none(), required=False, label="To")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["supplier"].queryset = Supplier.objects.current().order_by("name")
        self.fields["location"].queryset = Location.objects.order_by("pk")


class CountForm(BookForm):
    """What was found of one item at the end of a day."""

    date = DayField(label="At the end of")
    quantity = NumberField(label="Found, in units", low=Decimal(0), example="14")
    unit_cost = NumberField(
        required=False,
        label="Cost of one",
        low=Decimal(0),
        example="3.40",
        help_text="Only used for what the shelf held before the book began.",
    )
    location = forms.ModelChoiceField(Location.objects.none(), required=False, label="At")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["location"].queryset = Location.objects.order_by("pk")
