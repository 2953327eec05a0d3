"""Sending reminders, and disputes, which stop them."""

from collections.abc import Collection
from datetime import date, datetime

from django.db import transaction

from billing.actions.mail_settings import check_set_up
from billing.actions.mailing import queue_message
from billing.models import Dispute, Invoice, Message
from billing.reports.reminders import due_reminders
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile


@transaction.atomic
def send_reminders(chosen: Collection[int], on: date, now: datetime) -> list[Message]:
    """Queue the reminders that are due of the invoices with these keys; pressed twice, each goes out once.

    Raises RuleBroken("mail_not_set_up").
    """
    check_set_up()
    profile, queued = Profile.locked(), []
    for due in due_reminders(on):
        if due.invoice.pk in chosen and due.can_be_sent:
            words = due.kind.worded(due.invoice, profile)
            recipient = due.kind.recipient(due.invoice)
            queued.append(
                queue_message(
                    due.kind,
                    due.invoice,
                    to=recipient.email,
                    to_name=recipient.name,
                    subject=words.subject,
                    text=words.text,
                    now=now,
                )
            )
    return queued


@transaction.atomic
def open_dispute(invoice: Invoice, note: str, on: date) -> Dispute:
    """Note that a client disputes an invoice; reminders stop. One that was settled on the same day goes on.

    Raises RuleBroken("already_disputed").
    """
    Profile.locked()
    if invoice.disputes.open().exists():
        raise RuleBroken("already_disputed", f"Invoice {invoice} is already marked as disputed.")
    dispute, _ = Dispute.objects.update_or_create(
        invoice=invoice, opened_on=on, defaults={"note": note, "settled_on": None}
    )
    return dispute


@transaction.atomic
def settle_dispute(dispute: Dispute, on: date) -> Dispute:
    """Note that a dispute is settled; reminders come again. Raises RuleBroken("dispute_settled")."""
    day = max(on, dispute.opened_on)
    if not Dispute.objects.open().filter(pk=dispute.pk).update(settled_on=day):
        raise RuleBroken("dispute_settled", "This dispute is settled already.")
    dispute.refresh_from_db()
    return dispute
