"""Forms of the year: days of the sales tax, and estimated tax that was paid."""

from datetime import timedelta
from decimal import Decimal

from django import forms

from billing.models import EstimatedPayment
from practice.lib.forms import BookForm, BookModelForm, DayField, PastDayField
from practice.lib.periods import tax_year, tax_year_of
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
    """A payment of estimated tax; it is proposed for the tax year that was running a month ago."""

    MONTH = timedelta(31)
    tax_year = forms.TypedChoiceField(
        label="For the tax year",
        coerce=int,
        empty_value=None,
        required=False,
        help_text="The last payment for a year is often made after it has ended.",
    )

    class Meta:
        model = EstimatedPayment
        fields = ["date", "amount", "tax_year", "note"]
        labels = {"date": "Paid on", "amount": "Amount", "note": "Note"}
        field_classes = {"date": PastDayField}

    def __init__(self, *args, profile: Profile, **kwargs):
        super().__init__(*args, profile=profile, **kwargs)
        amount = self.fields["amount"]
        country, day = profile.country, profile.today
        now, own = tax_year_of(day, country), self.instance.pk and self.instance.year_in(country)
        years = sorted({now - 1, now, now + 1, own or now}, reverse=True)
        self.fields["tax_year"].choices = [(year, tax_year(year, country).years) for year in years]
        self.initial["tax_year"] = own or tax_year_of(day - self.MONTH, country)
        amount.money, amount.above, amount.example = True, Decimal(0), "1200.00"
        self.fields["note"].widget = forms.Textarea()
