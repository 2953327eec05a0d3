"""The message that brings a credit note to its client."""

from billing.models import CreditNote
from billing.papers.client_words import ClientWords
from billing.papers.documents import credit_note_pdf
from billing.papers.invoice import file_name
from billing.papers.invoice_messages import recipient_of
from billing.papers.message_kinds import MessageKind, Recipient, Wording
from practice.lib import formats
from practice.lib.mail import Enclosure
from practice.lib.profile import Profile


class CreditNoteMessage(MessageKind):
    code, name = "credit-note", "Credit note"
    placeholders = {
        "client": "Ann Birch",
        "number": "GF-C-2026-0003",
        "invoice": "GF-2026-0187",
        "date": "October 20, 2026",
        "total": "$40.00",
        "practice": "Garrow Farriery",
        "phone": "555-0100",
    }
    wording = Wording(
        "Credit note {number} from {practice}",
        "Hello {client},\n\n"
        "Attached is credit note {number}, dated {date}. It takes {total} off invoice {invoice}.\n\n"
        "Thank you,\n{practice}\n{phone}",
    )

    def about(self, note: CreditNote) -> str:
        return note.number

    def find(self, about: str) -> CreditNote | None:
        return CreditNote.objects.for_list().filter(number=about).first()

    def recipient(self, note: CreditNote) -> Recipient:
        return recipient_of(note.invoice.client)

    def values(self, note: CreditNote, profile: Profile) -> dict[str, str]:
        invoice, words = note.invoice, ClientWords(note.invoice, profile)
        return {
            "client": invoice.client_name or invoice.client.name,
            "number": note.number,
            "invoice": invoice.number,
            "date": formats.long_date(note.issued, words.locale),
            "total": words.money(note.total),
            "practice": profile.name,
            "phone": profile.phone,
        }

    def enclosures(self, note: CreditNote) -> list[Enclosure]:
        return [Enclosure(self.enclosed(note)[0], credit_note_pdf(note))]

    def enclosed(self, note: CreditNote) -> list[str]:
        return [f"{file_name(note.number)}.pdf"]


CREDIT_NOTE = CreditNoteMessage()
