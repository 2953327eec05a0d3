"""Forms of prices, tax rates and payments."""

from decimal import Decimal

from django import forms

from billing.models import Invoice, Payment, TaxRate
from billing.rules.odd import times_owed
from practice.lib.form_fields import PriceField
from practice.lib.forms import (
    BookForm,
    BookModelForm,
    NumberField,
    PastDayField,
    PlannedDayField,
    odd_times,
)
from practice.models import Client, Service
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


class PaymentForm(BookForm):
    """A payment, or below zero a refund."""

    date = PastDayField(label="Date")
    amount = NumberField(
        label="Amount",
        money=True,
        places=9,
        example="120.00",
        help_text="Type a minus for a refund or a bounced check: −120.00.",
    )
    method = forms.ChoiceField(choices=Payment.Method, label="Method", initial=Payment.Method.CHECK)
    invoice = forms.ModelChoiceField(
        Invoice.objects.none(),
        required=False,
        label="Invoice",
        empty_label="Oldest open invoice first",
    )
    tip = NumberField(
        label="Tip included in the amount",
        required=False,
        money=True,
        places=9,
        low=Decimal(0),
        example="10.00",
    )
    bounced = forms.BooleanField(
        required=False, label="A check that bounced", help_text="Leave it off for a refund."
    )
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea)

    def __init__(self, *args, client: Client, **kwargs):
        super().__init__(*args, **kwargs)
        self.client = client
        self.fields["invoice"].queryset = Invoice.objects.filter(client=client).order_by("-issued", "-number")

    def clean(self):
        data = super().clean()
        amount, tip = data.get("amount"), data.get("tip") or Decimal(0)
        data["tip"] = tip
        if amount is not None and amount == 0:
            self.add_error("amount", "Enter an amount above 0, such as 120.00, or below 0 for a refund.")
        elif amount is not None and tip > max(amount, Decimal(0)):
            self.add_error("tip", "The tip is part of the amount, so it cannot be more.")
        elif amount is not None and amount > 0 and data.get("bounced"):
            self.add_error("bounced", "A bounced check is below zero: type the amount with a minus.")
        return data

    def odd(self):
        amount, paid = self.cleaned_data["amount"], Payment.objects.filter(client=self.client)
        owed = sum((invoice.open for invoice in self.client.invoices.outstanding()), Decimal(0))
        if self.row:
            owed, paid = owed + self.row.amount, paid.exclude(pk=self.row.pk)
        yield from odd_times("payment_far_above_owed", "amount", times_owed(amount, owed), "what is owed")
        if owed <= 0:
            usual = times_usual(amount, paid.values_list("amount", flat=True))
            yield from odd_times("payment_far_above_usual", "amount", usual, "what this client usually pays")
