"""Forms of facts: what was delivered, counted, written off or returned, and moved."""

from decimal import Decimal

from django import forms

from practice.lib.form_fields import PriceField
from practice.lib.forms import BookForm, DayField, NumberField
from stock.models import Item, Location, Supplier


class PlacedForm(BookForm):
    """A form that asks for a location: the first unless another is chosen; not where there is one shelf."""

    location_fields = ("location",)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        locations = Location.objects.in_order()
        first = locations.first()
        for name in self.location_fields:
            if first is None:
                del self.fields[name]
                continue
            self.fields[name].queryset = locations
            self.fields[name].empty_label = None
        if first:
            self.initial.setdefault("location", first.pk)
        if "to_location" in self.location_fields and len(locations) > 1:
            self.initial.setdefault("to_location", locations[1].pk)

    def clean(self):
        return dict.fromkeys(self.location_fields) | super().clean()


def location_field(label: str) -> forms.ModelChoiceField:
    return forms.ModelChoiceField(Location.objects.none(), label=label)


class DeliveryForm(PlacedForm):
    """A delivery of one item."""

    date = DayField(label="Date")
    quantity = NumberField(label="Quantity, in units", above=Decimal(0), example="20")
    unit_cost = PriceField(label="Unit cost", low=Decimal(0), example="3.40")
    supplier = forms.ModelChoiceField(
        Supplier.objects.none(), required=False, label="Supplier", empty_label="No supplier"
    )
    reference = forms.CharField(required=False, label="Packing slip", max_length=200)
    location = location_field("Location")
    lot = forms.CharField(required=False, label="Lot", max_length=60)
    use_by = DayField(required=False, label="Use by")

    def __init__(self, *args, item: Item, **kwargs):
        super().__init__(*args, **kwargs)
        if not item.has_lots:
            del self.fields["lot"], self.fields["use_by"]
        self.fields["supplier"].queryset = Supplier.objects.for_list()


class CountForm(PlacedForm):
    """A count of one item at the end of a day."""

    date = DayField(label="At the end of")
    quantity = NumberField(label="Counted, in units", low=Decimal(0), example="14")
    unit_cost = PriceField(
        required=False,
        label="Unit cost",
        low=Decimal(0),
        example="3.40",
        help_text="Only used where the book does not know a cost yet.",
    )
    location = location_field("Location")


class OutForm(PlacedForm):
    """What left the shelf other than on a visit."""

    date = DayField(label="Date")
    quantity = NumberField(label="Quantity, in units", above=Decimal(0), example="2")
    location = location_field("From")
    note = forms.CharField(required=False, label="Reason", max_length=300)


class TransferForm(PlacedForm):
    """What was moved from one location to another."""

    location_fields = ("location", "to_location")
    date = DayField(label="Date")
    quantity = NumberField(label="Quantity, in units", above=Decimal(0), example="10")
    location = location_field("From")
    to_location = location_field("To")
    note = forms.CharField(required=False, label="Note", max_length=300)
