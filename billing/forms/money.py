"""Forms of prices, tax rates and payments."""

from decimal import Decimal

from django import forms

from billing.models import Invoice, Payment, TaxRate
from practice.lib.forms import BookForm, BookModelForm, DayField, NumberField


class PriceForm(BookForm):
    since = DayField(label="From")
    price = NumberField(label="Price of one", low=Decimal(0), example="145.00")


class TaxRateForm(BookModelForm):
    class Meta:
        model = TaxRate
        fields = ["name", "rate", "area", "valid_from", "valid_to"]
        labels = {
            "rate": "Rate in percent",
            "area": "In the area",
            "valid_from": "From",
            "valid_to": "To",
        }
        help_texts = {
            "area": "As places name it. Blank: everywhere.",
            "valid_to": "Blank: until the next row of this name and area.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["rate"].low, self.fields["rate"].high = Decimal(0), Decimal(100)
        self.fields["rate"].example = "5.25"

    def clean(self):
        data = super().clean()
        for name in ("name", "area"):
            if ";" in data.get(name, ""):
                self.add_error(name, "A semicolon cannot stand here.")
        begin, end = data.get("valid_from"), data.get("valid_to")
        if begin and end and end < begin:
            self.add_error("valid_to", "It ends before it begins.")
        return data


class PaymentForm(BookForm):
    """Money that came in, or went back."""

    date = DayField(label="On")
    amount = NumberField(
        label="Amount",
        money=True,
        places=9,
        example="120.00",
        help_text="Below zero: a refund, or a check that came back.",
    )
    method = forms.ChoiceField(choices=Payment.Method, label="By", initial=Payment.Method.CHECK)
    invoice = forms.ModelChoiceField(
        Invoice.objects.none(),
        required=False,
        label="For the invoice",
        help_text="Blank: the oldest open ones are settled first.",
    )
    tip = NumberField(
        label="Of it a tip", required=False, money=True, places=9, low=Decimal(0), example="10.00"
    )
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea)
    uuid = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, client, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["invoice"].queryset = Invoice.objects.filter(client=client).order_by("-issued", "-number")

    def clean(self):
        data = super().clean()
        amount, tip = data.get("amount"), data.get("tip") or Decimal(0)
        data["tip"] = tip
        if amount is not None and amount == 0:
            self.add_error("amount", "A payment of 0 is none. Type the amount, such as 120.00.")
        elif amount is not None and tip > max(amount, Decimal(0)):
            self.add_error("tip", "The tip is a part of the amount; it cannot be more.")
        return data
