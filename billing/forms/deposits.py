"""The form of a bank deposit: which cash and checks went to the bank."""

from django import forms

from billing.models import Payment
from practice.lib import formats
from practice.lib.form_fields import PastDayField, RowsField
from practice.lib.forms import ERRORS, BookForm

NOT_ONE_OF_THEM = ERRORS["invalid_choice"]


class PaymentTicks(forms.CheckboxSelectMultiple):
    """Payments to tick, each with what it adds to the total (`js/sums.js`)."""

    def create_option(self, name, value, label, selected, index, **kwargs):
        option = super().create_option(name, value, label, selected, index, **kwargs)
        option["attrs"]["data-adds"] = f"{value.instance.amount:f}"
        return option


class PaymentsField(RowsField):
    """Cash and checks to tick: `Ann Birch, 120.00, check 1042, Oct 14, 2026`."""

    widget = PaymentTicks

    def label_from_instance(self, payment: Payment) -> str:
        day = formats.medium_date(payment.date, self.profile.locale)
        amount = formats.amount(payment.amount, self.profile.currency, self.profile.locale)
        return f"{payment.client}, {amount}, {payment.how}, {day}"


class DepositForm(BookForm):
    """The day, and what was deposited together on it."""

    date = PastDayField(label="Day at the bank")
    payments = PaymentsField(
        Payment.objects.none(),
        label="Cash and checks",
        error_messages={
            "required": "Select the cash and checks that went to the bank.",
            "invalid_pk_value": NOT_ONE_OF_THEM,
            "list": NOT_ONE_OF_THEM,
        },
    )
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea)

    def __init__(self, *args, since=None, **kwargs):
        super().__init__(*args, **kwargs)
        rows = Payment.objects.to_deposit()
        self.fields["payments"].queryset = rows.filter(date__gte=since) if since else rows
        self.fields["payments"].error_messages["required"] = (
            "Select the cash and checks that went to the bank."
        )
