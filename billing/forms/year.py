"""Forms of the year: days of the sales tax, and estimated tax that was paid."""

from decimal import Decimal

from django import forms

from billing.models import EstimatedPayment
from practice.lib.forms import BookForm, BookModelForm, DayField, PastDayField
from practice.lib.profile import Profile


class DaysForm(BookForm):
    """The first and the last day of a page that looks back."""

    begin = DayField(label="From")
    end = DayField(label="To")

    def clean(self):
        data = super().clean()
        begin, end = data.get("begin"), data.get("end")
        if begin and end and end < begin:
            self.add_error("end", "This day is before the first one.")
        return data


class EstimatedPaymentForm(BookModelForm):
    class Meta:
        model = EstimatedPayment
        fields = ["date", "amount", "note"]
        labels = {"date": "Paid on", "amount": "Amount", "note": "Note"}
        field_classes = {"date": PastDayField}

    def __init__(self, *args, profile: Profile, **kwargs):
        super().__init__(*args, profile=profile, **kwargs)
        amount = self.fields["amount"]
        amount.money, amount.above, amount.example = True, Decimal(0), "1200.00"
        self.fields["note"].widget = forms.Textarea()
