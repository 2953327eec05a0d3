"""Forms of orders: what is ordered in packs, what has come, what is canceled."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django import forms
from django.forms.boundfield import BoundField

from practice.lib import formats
from practice.lib.form_fields import PriceField
from practice.lib.forms import BookForm, DayField, NumberField, Odd, PastDayField, PlannedDayField, odd_times
from stock.actions.purchasing import NewLine, ReceivedLine
from stock.models import Item, Location, OrderLine, Supplier
from stock.reports.usual import past_receipts
from stock.rules.odd import over_ordered, times_usual

WHOLE = "Type a whole number of packs, such as 2."


@dataclass(frozen=True)
class OrderItemRow:
    """An item of the form: its fields, what a pack holds, what is on hand and already on order, in units."""

    item: Item
    pack_size: Decimal
    on_hand: Decimal
    on_order: Decimal
    packs: BoundField
    price: BoundField

    @property
    def comes_in_packs(self) -> bool:
        return self.pack_size != 1 or self.item.unit != "each"


class OrderForm(BookForm):
    """A new order, or one that nothing has come for: each item has a field for packs and one for the price.

    `initial["lines"]`: (packs or None, expected price or None) by the item's key.
    """

    supplier = forms.ModelChoiceField(
        Supplier.objects.none(), required=False, label="Supplier", empty_label="No supplier"
    )
    date = PastDayField(label="Order date")
    note = forms.CharField(
        required=False, label="Note to the supplier", widget=forms.Textarea, max_length=2000
    )

    def __init__(self, *args, items: Sequence[Item], pack_sizes=None, on_hand=None, on_order=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.items, self.pack_sizes = items, pack_sizes or {}
        self.on_hand, self.on_order = on_hand or {}, on_order or {}
        self.fields["supplier"].queryset = Supplier.objects.for_list()
        for item in items:
            packs, price = self.initial.get("lines", {}).get(item.pk, (None, None))
            self.fields[f"packs_{item.pk}"] = forms.IntegerField(
                required=False, min_value=0, max_value=99_999, label=f"{item}, packs", initial=packs
            )
            self.fields[f"price_{item.pk}"] = PriceField(
                required=False,
                low=Decimal(0),
                example="3.40",
                label=f"{item}, unit price",
                initial=price,
            )
        self.fit(self.profile)
        for item in items:
            self.fields[f"packs_{item.pk}"].error_messages |= dict.fromkeys(
                ("invalid", "min_value", "max_value"), WHOLE
            )

    def clean(self):
        data = super().clean()
        if not self.errors and not self.lines():
            raise forms.ValidationError("Type how many packs you want of at least one item.")
        return data

    def lines(self) -> list[NewLine]:
        """Return what is ordered, in the order of the items."""
        data = self.cleaned_data
        return [
            NewLine(item, data[f"packs_{item.pk}"], data[f"price_{item.pk}"])
            for item in self.items
            if data.get(f"packs_{item.pk}")
        ]

    def state(self):
        """Return the order's values; the price proposed for an item that is not on it is not one of them."""
        state = super().state()
        return state | {f"price_{item.pk}": "" for item in self.items if not state[f"packs_{item.pk}"]}

    def odd(self):
        lines = self.lines()
        past = past_receipts([line.item for line in lines])
        for line in lines:
            key, units = line.item.pk, line.packs * self.pack_sizes.get(line.item.pk, line.item.pack_size)
            yield from odd_times(
                "quantity_far_above_usual",
                f"packs_{key}",
                times_usual(units, past[key].quantities),
                "the usual delivery",
                str(line.item),
            )
            yield from odd_price(f"price_{key}", line.item, line.unit_price, past[key].costs)

    def groups(self) -> list[tuple[str, bool, list[OrderItemRow]]]:
        """Return (heading, whether it is unfolded, rows): the supplier's own items first, then the rest."""
        chosen = str(self["supplier"].value() or "")
        own = [item for item in self.items if chosen and str(item.supplier_id) == chosen]
        rest = [item for item in self.items if item not in own]
        used = any(self[f"packs_{item.pk}"].value() or self[f"packs_{item.pk}"].errors for item in rest)
        groups = [("From this supplier", True, own), ("Other items", used, rest)]
        if not own:
            groups = [("All items", True, rest)]
        return [
            (heading, is_open, [self._row(item) for item in items])
            for heading, is_open, items in groups
            if items
        ]

    def _row(self, item: Item) -> OrderItemRow:
        return OrderItemRow(
            item=item,
            pack_size=self.pack_sizes.get(item.pk, item.pack_size),
            on_hand=self.on_hand.get(item.pk, Decimal(0)),
            on_order=self.on_order.get(item.pk, Decimal(0)),
            packs=self[f"packs_{item.pk}"],
            price=self[f"price_{item.pk}"],
        )


@dataclass(frozen=True)
class LineRow:
    """A line of the receiving form: what is to come, how much came, and the price of one unit."""

    line: OrderLine
    quantity: BoundField
    price: BoundField
    lot: BoundField | None = None
    use_by: BoundField | None = None

    @property
    def fields(self) -> list[tuple[BoundField, str]]:
        """Return (field, label) for those that the line has."""
        pairs = [(self.quantity, "Received"), (self.price, "Unit price"), (self.lot, "Lot")]
        return [(field, label) for field, label in [*pairs, (self.use_by, "Use by")] if field]


class ReceiveForm(BookForm):
    """A delivery of an order: filled in with everything still to come, to be typed over where it differs."""

    DELIVERY_FIELDS = ("date", "location", "freight", "tax", "reference", "paid_on")
    date = PastDayField(label="Date")
    location = forms.ModelChoiceField(
        Location.objects.none(), required=False, label="Location", empty_label=None
    )
    freight = NumberField(required=False, money=True, low=Decimal(0), label="Freight", example="12.50")
    tax = NumberField(
        required=False,
        money=True,
        low=Decimal(0),
        label="Tax you do not get back",
        example="4.20",
        help_text="Spread over the items by value, like freight. If unsure, ask a licensed tax preparer.",
    )
    reference = forms.CharField(required=False, label="Packing slip", max_length=200)
    paid_on = PastDayField(required=False, label="Paid on")
    seen = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args, lines: Sequence[OrderLine], **kwargs):
        super().__init__(*args, **kwargs)
        self.lines = lines
        locations = Location.objects.in_order()
        self.fields["location"].queryset = locations
        if first := locations.first():
            self.initial.setdefault("location", first.pk)
        else:
            del self.fields["location"]
        for line in lines:
            self.fields[f"quantity_{line.pk}"] = NumberField(
                required=False,
                low=Decimal(0),
                example="20",
                label=f"{line.item}, received",
                places=0 if line.item.is_counted_singly else 6,
                initial=line.to_come,
            )
            self.fields[f"price_{line.pk}"] = PriceField(
                required=False,
                low=Decimal(0),
                example="3.40",
                label=f"{line.item}, unit price",
                initial=line.unit_price,
            )
            if line.item.has_lots:
                self.fields[f"lot_{line.pk}"] = forms.CharField(required=False, label="Lot", max_length=60)
                self.fields[f"use_by_{line.pk}"] = DayField(required=False, label="Use by")
        self.fit(self.profile)
        self.fields["seen"].widget = forms.HiddenInput()

    def clean(self):
        data = super().clean()
        for line in self.lines:
            if data.get(f"quantity_{line.pk}") and data.get(f"price_{line.pk}", 0) is None:
                self.add_error(f"price_{line.pk}", "Type the price of one, such as 3.40; 0 if it was free.")
        if not self.errors and not self.received():
            raise forms.ValidationError("Type how many came of at least one item.")
        return data

    def odd(self):
        rows = self.received()
        past = past_receipts([row.line.item for row in rows])
        for row in rows:
            line, key = row.line, row.line.item.pk
            if over := over_ordered(row.quantity, line.to_come):
                unit = formats.quantity_of(over, line.item.unit, self.profile.locale)
                question = f"{line.item}: that is {unit} more than was still to come. Is it right?"
                yield Odd("more_than_ordered", f"quantity_{line.pk}", question)
            expected = [line.unit_price] if line.unit_price else past[key].costs
            yield from odd_price(f"price_{line.pk}", line.item, row.unit_price, expected)

    def received(self) -> list[ReceivedLine]:
        """Return what came, in the order of the lines."""
        data = self.cleaned_data
        return [
            ReceivedLine(
                line,
                data[f"quantity_{line.pk}"],
                data[f"price_{line.pk}"],
                lot=data.get(f"lot_{line.pk}", ""),
                use_by=data.get(f"use_by_{line.pk}"),
            )
            for line in self.lines
            if data.get(f"quantity_{line.pk}")
        ]

    def delivery_fields(self) -> list[BoundField]:
        """Return the fields that are not of one line."""
        return [self[name] for name in self.DELIVERY_FIELDS if name in self.fields]

    def rows(self) -> list[LineRow]:
        return [self._line_row(line) for line in self.lines]

    def _line_row(self, line: OrderLine) -> LineRow:
        lot = (self[f"lot_{line.pk}"], self[f"use_by_{line.pk}"]) if line.item.has_lots else (None, None)
        return LineRow(line, self[f"quantity_{line.pk}"], self[f"price_{line.pk}"], *lot)


class ExpectedForm(BookForm):
    """The day that a supplier promised."""

    expected = PlannedDayField(
        required=False,
        label="Expected day",
        help_text="Leave blank to go by the order date and the lead time.",
    )


class CancelForm(BookForm):
    """How many units of a line to cancel."""

    quantity = NumberField(label="Quantity to cancel, in units", above=Decimal(0), example="10")

    def __init__(self, *args, line: OrderLine, **kwargs):
        super().__init__(*args, **kwargs)
        if line.item.is_counted_singly:
            self.fields["quantity"].places = 0


def odd_price(field: str, item: Item, price: Decimal | None, before: Iterable[Decimal]) -> Iterator[Odd]:
    """Yield the question about a price far above the usual one."""
    times = times_usual(price or Decimal(0), before)
    return odd_times("price_far_above_usual", field, times, "the usual price", str(item))
