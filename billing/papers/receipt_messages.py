"""The message that brings a client the receipt of a payment."""

from billing.models import Payment
from billing.papers.client_words import ClientWords
from billing.papers.invoice_messages import recipient_of
from billing.papers.message_kinds import MessageKind, Recipient, Wording
from billing.papers.payment_receipt import receipt_file_name, receipt_of, receipt_pdf, reference_of
from billing.papers.statement_messages import LONGEST_KEY
from practice.lib import formats
from practice.lib.mail import Enclosure
from practice.lib.profile import Profile


class ReceiptMessage(MessageKind):
    code, name = "receipt", "Receipt"
    placeholders = {
        "client": "Ann Birch",
        "reference": "8D6F2B1E",
        "date": "October 14, 2026",
        "amount": "$172.00",
        "method": "check 1042",
        "practice": "Garrow Farriery",
        "phone": "555-0100",
    }
    wording = Wording(
        "Receipt {reference} from {practice}",
        "Hello {client},\n\n"
        "Attached is your receipt for {amount}, {method}, dated {date}.\n\n"
        "Thank you,\n{practice}\n{phone}",
    )

    def about(self, payment: Payment) -> str:
        return payment.key if len(payment.key) <= LONGEST_KEY else str(payment.uuid)

    def find(self, about: str) -> Payment | None:
        try:
            return Payment.objects.for_detail().by_key(about)
        except Payment.DoesNotExist:
            return None

    def named(self, about: str, profile: Profile) -> str:
        payment = self.find(about)
        return f"{self.name} {reference_of(payment) if payment else about}"

    def address(self, payment: Payment) -> str:
        return payment.receipt_url

    def recipient(self, payment: Payment) -> Recipient:
        return recipient_of(payment.client)

    def values(self, payment: Payment, profile: Profile) -> dict[str, str]:
        words = ClientWords(payment, profile)
        return {
            "client": payment.client.name,
            "reference": reference_of(payment),
            "date": formats.long_date(payment.date, words.locale),
            "amount": words.money(abs(payment.amount)),
            "method": payment.how,
            "practice": profile.name,
            "phone": profile.phone,
        }

    def short(self, payment: Payment, profile: Profile) -> str:
        words, receipt = self.values(payment, profile), receipt_of(payment)
        rows = "; ".join(f"{row.name}: {row.amount}" for row in receipt.rows)
        owed = f" {receipt.still_owed} is still open." if receipt.still_owed else ""
        return (
            f"{receipt.title}: {words['amount']}, {words['method']}, {words['date']}."
            f" {rows}.{owed} {words['practice']}"
        )

    def enclosures(self, payment: Payment) -> list[Enclosure]:
        return [Enclosure(self.enclosed(payment)[0], receipt_pdf(payment))]

    def enclosed(self, payment: Payment) -> list[str]:
        return [f"{receipt_file_name(payment)}.pdf"]


RECEIPT = ReceiptMessage()
