"""Messages about an invoice: the invoice itself, and three reminders of it."""

from datetime import datetime

from django.urls import reverse
from django.utils.timezone import localtime

from billing.actions.sharing import OPENS_FOR, share_invoice
from billing.models import Invoice, SharedLink
from billing.papers.client_words import ClientWords
from billing.papers.documents import invoice_pdf
from billing.papers.invoice import file_name
from billing.papers.message_kinds import LINK_EXAMPLE, MessageKind, Recipient, Wording, link_to_come
from practice.lib import formats
from practice.lib.mail import Enclosure
from practice.lib.profile import Profile
from practice.models import Client

OF_AN_INVOICE = {
    "client": "Ann Birch",
    "number": "GF-2026-0187",
    "date": "October 14, 2026",
    "due": "October 28, 2026",
    "total": "$172.00",
    "open": "$172.00",
    "how_to_pay": "By mail: check to Garrow Farriery",
    "practice": "Garrow Farriery",
    "phone": "555-0100",
    **LINK_EXAMPLE,
}


def recipient_of(client: Client) -> Recipient:
    """Return a client as someone who gets messages."""
    return Recipient(
        client.name,
        client.email,
        client.phone,
        client.get_absolute_url(),
        reverse("practice:client-change", args=[client.pk]),
    )


class InvoiceMessage(MessageKind):
    code, name = "invoice", "Invoice"
    placeholders = OF_AN_INVOICE
    wording = Wording(
        "Invoice {number} from {practice}",
        "Hello {client},\n\n"
        "Attached is invoice {number}, dated {date}. The amount due is {open}, by {due}.\n\n"
        "{how_to_pay}\n\n"
        "Thank you,\n{practice}\n{phone}",
    )

    def about(self, invoice: Invoice) -> str:
        return invoice.number

    def find(self, about: str) -> Invoice | None:
        return Invoice.objects.for_list().filter(number=about).first()

    def recipient(self, invoice: Invoice) -> Recipient:
        return recipient_of(invoice.client)

    def values(self, invoice: Invoice, profile: Profile) -> dict[str, str]:
        words = ClientWords(invoice, profile)
        return {
            "client": invoice.client_name or invoice.client.name,
            "number": invoice.number,
            "date": formats.long_date(invoice.issued, words.locale),
            "due": formats.long_date(invoice.due, words.locale),
            "total": words.money(invoice.total),
            "open": words.money(invoice.open),
            "how_to_pay": profile.pay_note.replace("\r\n", "\n"),
            "practice": profile.name,
            "phone": profile.phone,
            **link_to_come(),
        }

    def share(self, invoice: Invoice, now: datetime) -> SharedLink:
        return share_invoice(invoice, localtime(now).date() + OPENS_FOR, now)

    def short(self, invoice: Invoice, profile: Profile) -> str:
        words = self.values(invoice, profile)
        return f"Invoice {words['number']}: {words['open']}, due {words['due']}. {words['practice']}"

    def enclosures(self, invoice: Invoice) -> list[Enclosure]:
        return [Enclosure(self.enclosed(invoice)[0], invoice_pdf(invoice))]

    def enclosed(self, invoice: Invoice) -> list[str]:
        return [f"{file_name(invoice.number)}.pdf"]


class ReminderMessage(InvoiceMessage):
    """One of the reminders of an invoice: the first is friendly, the last is firm."""

    def __init__(self, level: int, wording: Wording):
        self.level, self.wording = level, wording
        self.code, self.name = f"reminder-{level}", f"{('First', 'Second', 'Third')[level - 1]} reminder"

    def why_not(self, invoice: Invoice) -> str:
        if invoice.open <= 0:
            return "The invoice was paid in the meantime."
        return "The invoice is disputed." if invoice.disputes.open().exists() else ""

    def short(self, invoice: Invoice, profile: Profile) -> str:
        words = self.values(invoice, profile)
        return (
            f"Reminder: invoice {words['number']} was due {words['due']}, and {words['open']} is still open."
            f" {words['practice']}"
        )


INVOICE = InvoiceMessage()
REMINDERS = (
    ReminderMessage(
        1,
        Wording(
            "Reminder: invoice {number} from {practice}",
            "Hello {client},\n\n"
            "Invoice {number}, dated {date}, was due on {due}, and {open} is still unpaid. It may have"
            " slipped your mind, or your payment may already be on its way.\n\n"
            "{how_to_pay}\n\n"
            "Thank you,\n{practice}\n{phone}",
            days=7,
        ),
    ),
    ReminderMessage(
        2,
        Wording(
            "Second reminder: invoice {number} from {practice}",
            "Hello {client},\n\n"
            "Invoice {number}, dated {date}, was due on {due}, and we have not received the {open} still"
            " owed. Please pay it this week, or call us if something is wrong with the invoice.\n\n"
            "{how_to_pay}\n\n"
            "Thank you,\n{practice}\n{phone}",
            days=21,
        ),
    ),
    ReminderMessage(
        3,
        Wording(
            "Last reminder: invoice {number} from {practice}",
            "Hello {client},\n\n"
            "Invoice {number}, dated {date}, was due on {due}, and {open} is still unpaid after two"
            " reminders. Please pay within seven days, or call us so that we can work something out.\n\n"
            "{how_to_pay}\n\n"
            "{practice}\n{phone}",
            days=42,
        ),
    ),
)
