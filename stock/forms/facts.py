"""Forms of facts: what came in, what was found, what left otherwise, what was moved."""

from decimal import Decimal

from django import forms

from practice.lib.forms import BookForm, DayField, NumberField
from stock.models import Item, Location, Supplier


class PlacedForm(BookForm):
    """A form that asks where: the first place unless another is chosen, nothing where there is one shelf."""

    places = ("location",)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        locations = Location.objects.order_by("pk")
        first = locations.first()
        for name in self.places:
            if first is None:
                del self.fields[name]
                continue
            self.fields[name].queryset = locations
            self.fields[name].empty_label = None
        if first:
            self.initial.setdefault("location", first.pk)
        if "to_location" in self.places and len(locations) > 1:
            self.initial.setdefault("to_location", locations[1].pk)

    def clean(self):
        return dict.fromkeys(self.places) | super().clean()


def place(label: str) -> forms.ModelChoiceField:
    return forms.ModelChoiceField(Location.objects.none(), label=label)


class DeliveryForm(PlacedForm):
    """What came in of one item."""

    date = DayField(label="On")
    quantity = NumberField(label="How many, in units", above=Decimal(0), example="20")
    unit_cost = NumberField(label="Cost of one", low=Decimal(0), example="3.40")
    supplier = forms.ModelChoiceField(Supplier.objects.none(), required=False, label="From")
    reference = forms.CharField(required=False, label="Delivery note", max_length=200)
    location = place("To")
    lot = forms.CharField(required=False, label="Lot", max_length=60)
    use_by = DayField(required=False, label="Use by")

    def __init__(self, *args, item: Item, **kwargs):
        super().__init__(*args, **kwargs)
        if not item.has_lots:
            del self.fields["lot"], self.fields["use_by"]
        self.fields["supplier"].queryset = Supplier.objects.current().order_by("name")


class CountForm(PlacedForm):
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
    location = place("At")


class OutForm(PlacedForm):
    """What left the shelf otherwise than on a visit."""

    date = DayField(label="On")
    quantity = NumberField(label="How many, in units", above=Decimal(0), example="2")
    location = place("From")
    note = forms.CharField(required=False, label="Why", max_length=300)


class TransferForm(PlacedForm):
    """What was moved from one place to another."""

    places = ("location", "to_location")
    date = DayField(label="On")
    quantity = NumberField(label="How many, in units", above=Decimal(0), example="10")
    location = place("From")
    to_location = place("To")
    note = forms.CharField(required=False, label="Note", max_length=300)
