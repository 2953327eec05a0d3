"""Reminders that are due, and open invoices that get none."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.utils.timezone import localtime

from billing.models import Dispute, Invoice, Message
from billing.papers.invoice_messages import REMINDERS, ReminderMessage
from billing.rules.reminding import next_reminder
from practice.lib.formats import days_over, money
from practice.lib.list_rows import ListRow
from practice.lib.phone import sms_url
from practice.lib.profile import Profile


@dataclass(frozen=True)
class DueReminder:
    """An overdue invoice and the reminder that comes next."""

    invoice: Invoice
    kind: ReminderMessage
    days: int

    @property
    def can_be_sent(self) -> bool:
        return self.kind.recipient(self.invoice).has_address

    def row(self, profile: Profile) -> ListRow:
        """Return it as a row: whose, which reminder of which invoice, how much and how late."""
        return ListRow(
            self.invoice.get_absolute_url(),
            self.invoice.client.name,
            more=f"{self.kind.name}, {self.invoice.number}",
            fact=money(self.invoice.open, profile.currency, profile.locale),
            late=True,
            note=days_over(self.days),
        )

    def sms_url(self, profile: Profile) -> str:
        return sms_url(self.invoice.client.phone, self.kind.short(self.invoice, profile))


def due_reminders(on: date) -> list[DueReminder]:
    """Return the reminders that are due on a day, the longest overdue first; none for a disputed invoice."""
    days = [kind.own_wording().days for kind in REMINDERS]
    disputed = Dispute.objects.open().values("invoice")
    overdue = Invoice.objects.outstanding().filter(due__lt=on).exclude(pk__in=disputed)
    overdue = list(overdue.select_related("client").order_by("due", "pk"))
    sent = sent_reminders([invoice.number for invoice in overdue])
    found = []
    for invoice in overdue:
        level = next_reminder(invoice.due, sent[invoice.number], days, on)
        if level:
            found.append(DueReminder(invoice, REMINDERS[level - 1], (on - invoice.due).days))
    return found


def sent_reminders(numbers: list[str]) -> dict[str, list[date]]:
    """Return on which days each invoice's reminders went out, in their order; what was refused did not."""
    kinds = [kind.code for kind in REMINDERS]
    rows = Message.objects.on_their_way().filter(kind__in=kinds, about__in=numbers)
    latest: dict[str, dict[str, date]] = defaultdict(dict)
    for about, kind, at in rows.order_by("queued_at").values_list("about", "kind", "queued_at"):
        latest[about][kind] = localtime(at).date()
    return defaultdict(list, {about: [sent[kind] for kind in sorted(sent)] for about, sent in latest.items()})
