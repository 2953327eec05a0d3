"""One payment: what it settled, what is left of it, and what it was before it was changed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils import timezone

from billing.actions.settling import account_of
from billing.models import Expense, Payment, PaymentChange
from billing.rules.settling import Outcome
from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import Client

ZERO = Decimal(0)
CREDIT, RETURNED, TIP = "Credit not used yet", "Refunded later", "Tip"
FROM_CREDIT, NOT_COVERED = "From credit", "From credit, or more than was paid"


@dataclass(frozen=True)
class PaymentPart:
    """What a part of a payment was for: an invoice with the day that it was settled on, or words."""

    label: str
    amount: Decimal
    url: str = ""
    on: date | None = None
    by_hand: bool = False


@dataclass(frozen=True)
class PaymentPage:
    """A payment with its parts, which add up to its amount, and its history, the latest first."""

    payment: Payment
    parts: list[PaymentPart]
    history: list[ListRow]
    profile: Profile

    @property
    def is_refund(self) -> bool:
        return self.payment.amount < 0

    @property
    def heading(self) -> str:
        """`$120.00 received from Ann.`, `$120.00 refunded to Ann.`, or that a check bounced."""
        sum_of_money = formats.money(abs(self.payment.amount), self.profile.currency, self.profile.locale)
        if self.payment.bounced:
            return f"A check of {sum_of_money} from {self.payment.client} bounced."
        went = "refunded to" if self.is_refund else "received from"
        return f"{sum_of_money} {went} {self.payment.client}."

    @property
    def rows(self) -> list[ListRow]:
        """What each part was for, its day and its amount."""
        return [self._row(part) for part in self.parts]

    def _row(self, part: PaymentPart) -> ListRow:
        day = formats.medium_date(part.on, self.profile.locale) if part.on else ""
        chosen = "chosen for it" if part.by_hand else ""
        return ListRow(
            part.url,
            part.label,
            more=", ".join(filter(None, [day, chosen])),
            fact=formats.amount(part.amount, self.profile.currency, self.profile.locale),
        )

    @property
    def can_bounce(self) -> bool:
        """Whether it is a check that did not bounce yet."""
        payment = self.payment
        return payment.method == Payment.Method.CHECK and payment.amount > 0 and not self.bounce

    @property
    def bounce(self) -> Payment | None:
        """The row that says that this check bounced."""
        return getattr(self.payment, "bounce", None)

    @property
    def card_fee(self) -> Expense | None:
        """The expense that the fee of this card payment is."""
        return getattr(self.payment, "card_fee", None)

    @property
    def is_closed(self) -> bool:
        """Whether its day is closed for good, so that nothing of it can be changed."""
        return self.profile.is_closed(self.payment.date)


def payment_page(payment: Payment, profile: Profile) -> PaymentPage:
    """Return what a payment's page shows."""
    history = PaymentChange.objects.for_list().filter(payment=payment.key)
    return PaymentPage(payment, parts_of(payment), history_rows(history, profile), profile)


def parts_of(payment: Payment) -> list[PaymentPart]:
    """Return the parts of a payment, in the order in which they went; they add up to its amount."""
    parts = [
        PaymentPart(
            f"Invoice {row.invoice}", row.amount, row.invoice.get_absolute_url(), row.date, row.by_hand
        )
        for row in payment.settlements.select_related("invoice").order_by("date", "pk")
    ]
    parts += rest_of(payment, sum((part.amount for part in parts), ZERO), account_of(payment.client))
    return [part for part in parts if part.amount]


def rest_of(payment: Payment, settled: Decimal, account: Outcome) -> list[PaymentPart]:
    """Return what of a payment is not in settlements."""
    rest = payment.amount - payment.tip - settled
    if payment.amount < 0:
        from_credit = PaymentPart(NOT_COVERED if account.uncovered else FROM_CREDIT, rest)
        return [PaymentPart(TIP, payment.tip), from_credit]
    credit = account.credit.get(payment.pk, ZERO)
    return [
        PaymentPart(TIP, payment.tip),
        PaymentPart(RETURNED, rest - credit),
        PaymentPart(CREDIT, credit),
    ]


def deleted_payments(client: Client, profile: Profile) -> list[ListRow]:
    """Return the payments of a client that were deleted, the latest first."""
    deleted = client.paymentchanges.for_list().filter(what=PaymentChange.What.DELETED)
    return history_rows(deleted, profile)


def history_rows(changes: Iterable[PaymentChange], profile: Profile) -> list[ListRow]:
    """Return what payments were before: `Check for GF-2026-0187`, its date, and until when it was so."""
    return [history_row(change, profile) for change in changes]


def history_row(change: PaymentChange, profile: Profile) -> ListRow:
    """Return what a payment was before one change."""
    named = change.invoices or change.invoice or (change.visit and change.visit.place)
    until = formats.stamp(timezone.localtime(change.at), profile.locale)
    who = f", when {change.by} {change.what} it" if change.by else ""
    day = formats.medium_date(change.date, profile.locale)
    money = (profile.currency, profile.locale)
    return ListRow(
        "",
        f"{change.title} for {named}" if named else change.title,
        more=", ".join(filter(None, [day, change.note, f"until {until}{who}"])),
        fact=formats.amount(change.amount, *money),
        note=f"tip {formats.amount(change.tip, *money)}" if change.tip else "",
    )
