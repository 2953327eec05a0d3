"""Forms of payments, refunds and checks that bounced."""

from collections import defaultdict
from decimal import Decimal

from django import forms
from django.db.models import F, Q

from billing.actions.payments import chosen_invoices
from billing.models import Invoice, Payment
from billing.rules.odd import times_owed
from practice.lib import formats
from practice.lib.form_fields import NumberField, PastDayField, RowsField
from practice.lib.forms import ERRORS, BookForm, odd_times
from practice.lib.money import minor_digits
from practice.models import Client
from stock.rules.odd import times_usual

ZERO = Decimal(0)
NOT_ONE_OF_THEM = ERRORS["invalid_choice"]


class InvoiceTicks(forms.CheckboxSelectMultiple):
    """Invoices to tick, each with what it adds to the amount (`js/ticks.js`)."""

    def create_option(self, name, value, label, selected, index, **kwargs):
        option = super().create_option(name, value, label, selected, index, **kwargs)
        option["attrs"]["data-adds"] = f"{value.instance.open + self.own.get(value.value, ZERO):f}"
        return option


class InvoicesField(RowsField):
    """Open invoices to tick: `GF-2026-0187, Oct 14, 2026, 80.00 left`."""

    widget = InvoiceTicks

    def offer(self, client: Client, own: dict[int, Decimal]) -> None:
        """Offer the client's open invoices, and those of `own`: what the payment itself settled of each."""
        is_open = Q(total__gt=F("settled") + F("credited"))
        rows = client.invoices.with_settled().filter(is_open | Q(pk__in=own))
        self.own = self.widget.own = own
        self.queryset = rows.order_by("issued", "number")

    def left_of(self, invoice: Invoice) -> Decimal:
        """Return what the payment can settle of an invoice."""
        return invoice.open + self.own.get(invoice.pk, ZERO)

    def label_from_instance(self, invoice: Invoice) -> str:
        day = formats.medium_date(invoice.issued, self.profile.locale)
        left = formats.amount(self.left_of(invoice), self.profile.currency, self.profile.locale)
        return f"{invoice.number}, {day}, {left} left"


def amount_field(label: str, **more) -> NumberField:
    """Return the field of an amount in the practice's currency."""
    return NumberField(label=label, money=True, places=9, **more)


def settled_by(payment: Payment) -> dict[int, Decimal]:
    """Return what a payment settles of each invoice, by key; 0 of one that it names in vain."""
    own = defaultdict(Decimal)
    for row in payment.settlements.all():
        own[row.invoice_id] += row.amount
    for invoice in named_by(payment):
        own[invoice.pk] += ZERO
    return dict(own)


def named_by(payment: Payment) -> list[Invoice]:
    """Return the invoices that a payment names."""
    return [payment.invoice] if payment.invoice else chosen_invoices(payment)


class PaymentForm(BookForm):
    """Money that came in, and which invoices it is for."""

    date = PastDayField(label="Date")
    invoices = InvoicesField(
        Invoice.objects.none(),
        required=False,
        label="Invoices",
        help_text="If you select none, the oldest open invoice is paid first.",
        error_messages={"invalid_pk_value": NOT_ONE_OF_THEM, "list": NOT_ONE_OF_THEM},
    )
    amount = amount_field(
        "Amount",
        above=ZERO,
        example="120.00",
        required=False,
        help_text="Everything that came in, tip included.",
    )
    method = forms.ChoiceField(choices=Payment.Method, label="Method", initial=Payment.Method.CHECK)
    check_number = forms.CharField(required=False, max_length=40, label="Check number")
    tip = amount_field("Tip included in the amount", required=False, low=ZERO, example="10.00")
    fee = amount_field(
        "Card fee",
        required=False,
        low=ZERO,
        example="3.20",
        help_text="What the card company keeps. It is entered as an expense.",
    )
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea)

    def __init__(self, *args, client: Client, row: Payment | None = None, **kwargs):
        self.client, own = client, settled_by(row) if row else {}
        if row:
            fee = getattr(row, "card_fee", None)
            kwargs["initial"] = {
                "invoices": [str(invoice.pk) for invoice in named_by(row)],
                "fee": fee.amount if fee else "",
            }
        super().__init__(*args, row=row, **kwargs)
        self.fields["invoices"].offer(client, own)
        self.fields["amount"].widget.attrs |= {
            "data-sum": "invoices",
            "data-digits": minor_digits(self.profile.currency),
            "data-mark": formats.decimal_mark(self.profile.locale),
        }
        if not self.fields["invoices"].queryset.exists():
            del self.fields["invoices"]

    def clean(self):
        data = super().clean()
        if self.errors:
            return data
        data["tip"], data["invoices"] = data["tip"] or ZERO, list(data.get("invoices") or ())
        if data["amount"] is None:
            left = sum((self.fields["invoices"].left_of(each) for each in data["invoices"]), ZERO)
            data["amount"] = left + data["tip"] or None
        if data["amount"] is None:
            self.add_error("amount", "Enter an amount above 0, such as 120.00.")
        elif data["tip"] > data["amount"]:
            self.add_error("tip", "The tip is part of the amount, so it cannot be more.")
        elif data["fee"] and data["method"] != Payment.Method.CARD:
            self.add_error("fee", "Only a card payment has a card fee. Choose Card, or clear the fee.")
        elif data["fee"] and data["fee"] > data["amount"]:
            self.add_error("fee", "The fee is part of the amount, so it cannot be more.")
        return data

    def odd(self):
        amount, paid = self.cleaned_data["amount"], Payment.objects.filter(client=self.client)
        owed = sum((invoice.open for invoice in self.client.invoices.outstanding()), ZERO)
        if self.row:
            owed, paid = owed + self.row.amount, paid.exclude(pk=self.row.pk)
        yield from odd_times("payment_far_above_owed", "amount", times_owed(amount, owed), "what is owed")
        if owed <= 0:
            usual = times_usual(amount, paid.values_list("amount", flat=True))
            yield from odd_times("payment_far_above_usual", "amount", usual, "what this client usually pays")


class RefundForm(BookForm):
    """Money given back. It is typed above zero and saved below."""

    date = PastDayField(label="Date")
    amount = amount_field("Amount given back", above=ZERO, example="40.00")
    method = forms.ChoiceField(choices=Payment.Method, label="Method", initial=Payment.Method.CHECK)
    check_number = forms.CharField(required=False, max_length=40, label="Check number")
    invoice = forms.ModelChoiceField(
        Invoice.objects.none(),
        required=False,
        label="From",
        empty_label="The client's credit first, then what was paid last",
        help_text="What you refund from an invoice is owed on it again.",
    )
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea)

    def __init__(self, *args, client: Client, row: Payment | None = None, **kwargs):
        if row:
            kwargs["initial"] = {"amount": -row.amount}
        super().__init__(*args, row=row, **kwargs)
        paid = client.invoices.with_settled().filter(Q(settled__gt=0) | Q(pk=row and row.invoice_id))
        self.fields["invoice"].queryset = paid.order_by("-issued", "-number")

    def clean(self):
        data = super().clean()
        if data.get("amount") is not None:
            data["amount"] = -data["amount"]
        return data


class BounceForm(BookForm):
    """A check that came back from the bank."""

    date = PastDayField(label="Day it came back")
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea)


class NewBounceForm(BounceForm):
    """A check that just came back, with what the client is charged for it."""

    fee = amount_field(
        "Fee for the client",
        required=False,
        low=ZERO,
        example="25.00",
        help_text="It becomes a charge on the client's next invoice. Leave it blank for none.",
    )

    field_order = ["date", "fee", "note"]
