"""What a payment has to be before it is recorded, changed or deleted."""

from collections.abc import Sequence
from decimal import Decimal

from billing.models import Invoice, Payment
from practice.lib.errors import RuleBroken
from practice.lib.money import round_money
from practice.models import Client


def payment_deleted() -> RuleBroken:
    """Return the refusal for a payment that was deleted."""
    return RuleBroken("payment_deleted", "This payment was deleted. Open the form again to record another.")


def check_payment(amount: Decimal, tip: Decimal, currency: str, bounced: bool = False) -> None:
    """Raise RuleBroken where the amounts of a payment cannot be recorded.

    Codes: `amount_zero`, `amount_too_fine`, `tip_out_of_range`, `bounced_above_zero`.
    """
    if amount == 0:
        raise RuleBroken("amount_zero", "Enter an amount above 0, or below 0 for a refund.")
    for value in (amount, tip):
        if round_money(value, currency) != value:
            raise RuleBroken("amount_too_fine", f"{value} has too many decimals for {currency}.")
    if not (amount <= tip <= 0 if bounced and tip else 0 <= tip <= max(amount, Decimal(0))):
        raise RuleBroken("tip_out_of_range", "The tip is part of the amount: enter 0 up to the amount.")
    if bounced and amount > 0:
        raise RuleBroken("bounced_above_zero", "A bounced check is below zero: enter it with a minus.")


def check_invoice(client: Client, invoice: Invoice) -> None:
    """Raise RuleBroken("invoice_of_another_client") for an invoice that is not the client's."""
    if invoice.client_id != client.pk:
        raise RuleBroken(
            "invoice_of_another_client",
            f"Invoice {invoice.number} belongs to another client. Choose one of {client}'s invoices.",
        )


def check_several(amount: Decimal, invoices: Sequence[Invoice]) -> None:
    """Raise RuleBroken("refund_of_several_invoices") where what goes back names more than one invoice."""
    if amount < 0 and len(invoices) > 1:
        raise RuleBroken("refund_of_several_invoices", "A refund is from one invoice at most. Select one.")


def check_not_deposited(payment: Payment) -> None:
    """Raise RuleBroken("payment_deposited") where the payment is in a bank deposit."""
    if payment.deposit_id:
        raise RuleBroken(
            "payment_deposited",
            "This payment is in a bank deposit, whose total stays. Undo the deposit first.",
        )


def check_not_bounced(payment: Payment) -> None:
    """Raise RuleBroken("payment_bounced") where the payment is a check that bounced."""
    if Payment.objects.filter(reverses=payment).exists():
        raise RuleBroken(
            "payment_bounced", "This check bounced. Delete the bounced check first, then change this one."
        )
