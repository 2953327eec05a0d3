"""Forms of facts: what was delivered, counted, written off or returned, and moved."""

from decimal import Decimal

from django import forms

from practice.lib.form_fields import PriceField
from practice.lib.forms import BookForm, DayField, NumberField, PastDayField, odd_times
from stock.models import Item, Location, Supplier
from stock.reports.usual import past_receipts
from stock.rules.odd import times_usual


class FactForm(BookForm):
    """A fact of one item. It asks for a location: the first unless another is chosen; not where there is one
    shelf. What is counted singly is typed as a whole number.
    """

    location_fields = ("location",)

    def __init__(self, *args, item: Item, **kwargs):
        super().__init__(*args, **kwargs)
        self.item = item
        if item.is_counted_singly:
            self.fields["quantity"].places = 0
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

    def odd(self):
        past = past_receipts([self.item])[self.item.pk]
        times = times_usual(self.cleaned_data["quantity"], past.quantities)
        yield from odd_times("quantity_far_above_usual", "quantity", times, "the usual delivery")
        times = times_usual(self.cleaned_data.get("unit_cost") or Decimal(0), past.costs)
        yield from odd_times("price_far_above_usual", "unit_cost", times, "the usual cost")


def location_field(label: str) -> forms.ModelChoiceField:
    return forms.ModelChoiceField(Location.objects.none(), label=label)


class DeliveryForm(FactForm):
    """A delivery of one item."""

    date = PastDayField(label="Date")
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
        super().__init__(*args, item=item, **kwargs)
        if not item.has_lots:
            del self.fields["lot"], self.fields["use_by"]
        self.fields["supplier"].queryset = Supplier.objects.for_list()


class CountForm(FactForm):
    """A count of one item at the end of a day."""

    date = PastDayField(label="At the end of")
    quantity = NumberField(label="Counted, in units", low=Decimal(0), example="14")
    unit_cost = PriceField(
        required=False,
        label="Unit cost",
        low=Decimal(0),
        example="3.40",
        help_text="Only used where the book does not know a cost yet.",
    )
    location = location_field("Location")


class OutForm(FactForm):
    """What left the shelf other than on a visit."""

    date = PastDayField(label="Date")
    quantity = NumberField(label="Quantity, in units", above=Decimal(0), example="2")
    location = location_field("From")
    note = forms.CharField(required=False, label="Reason", max_length=300)


class TransferForm(FactForm):
    """What was moved from one location to another."""

    location_fields = ("location", "to_location")
    date = PastDayField(label="Date")
    quantity = NumberField(label="Quantity, in units", above=Decimal(0), example="10")
    location = location_field("From")
    to_location = location_field("To")
    note = forms.CharField(required=False, label="Note", max_length=300)
