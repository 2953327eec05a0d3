"""What a credit note shows on paper: plain values, already in words."""

from dataclasses import dataclass

from billing.models import CreditNote, CreditNoteLine, InvoiceLine
from billing.papers.client_words import ClientWords
from billing.papers.letter import ClientLetter, ClosingSum, TaxShown, closing_taxes, taxes_shown
from billing.reports.credits import credits_of_invoice
from practice.lib import formats
from practice.lib.letterhead import letterhead
from practice.lib.profile import Profile

REASONS = {
    CreditNote.Why.CORRECTION: "Correction",
    CreditNote.Why.GOODWILL: "Goodwill",
    CreditNote.Why.BAD_DEBT: "Written off",
}


@dataclass(frozen=True)
class CreditedLine:
    """A line of the invoice and what was credited of it: `Reset`, `Bramble, October 14, taxed`."""

    name: str
    detail: str
    amount: str


@dataclass(frozen=True, kw_only=True)
class CreditNotePaper(ClientLetter):
    """A credit note as it is printed."""

    number: str
    invoice: str
    invoice_issued: str
    issued: str
    reason: str
    note: str
    lines: list[CreditedLine]
    net: str
    taxes: list[TaxShown]
    total: str
    amount: str

    @property
    def title(self) -> str:
        return f"Credit note {self.number}"

    @property
    def facts(self) -> list[tuple[str, str]]:
        return [
            ("Date", self.issued),
            ("Invoice", self.invoice),
            ("Invoiced", self.invoice_issued),
            ("Reason", self.reason),
        ]

    @property
    def figure(self) -> str:
        return self.amount

    @property
    def comes(self) -> list[ClosingSum]:
        return [
            ClosingSum(self.net_label, self.net),
            *closing_taxes(self.taxes),
            ClosingSum("Total credit", self.total, "due"),
        ]

    @property
    def net_label(self) -> str:
        """What the net amount is the sum of."""
        return "Sum before tax" if self.taxes else "Sum"


def credit_note_paper(note: CreditNote, for_practice: bool = False) -> CreditNotePaper:
    """Return what a credit note shows. Names and addresses are those of its invoice.

    In the client's language; `for_practice`: in the practice's own.
    """
    invoice, profile = note.invoice, Profile.current()
    words = ClientWords(invoice, profile, for_practice)
    return CreditNotePaper(
        **letterhead(profile, words.locale, invoice.practice_name, invoice.practice_address),
        number=note.number,
        heading=f"Taken off invoice {invoice.number}",
        invoice=invoice.number,
        invoice_issued=formats.long_date(invoice.issued, words.locale),
        client_name=invoice.client_name or invoice.client.name,
        client_address=invoice.client_address or invoice.client.address,
        issued=formats.long_date(note.issued, words.locale),
        reason=REASONS[note.reason],
        note=note.note,
        lines=[_line(row, words) for row in note.lines.for_paper()],
        net=words.amount(note.net),
        taxes=credited_taxes(note, words),
        total=words.amount(note.total),
        amount=words.money(note.total),
    )


def credited_taxes(note: CreditNote, words: ClientWords) -> list[TaxShown]:
    """Return the taxes of a credit note in words: `State sales tax, 5% of 33.60`."""
    credits = credits_of_invoice(note.invoice)
    if credits.standing.is_exempt:
        return []
    if taxes := taxes_shown(credits.credit_of(note).taxes, words):
        return taxes
    return [TaxShown("Tax", words.amount(note.tax))] if note.tax else []


def _line(row: CreditNoteLine, words: ClientWords) -> CreditedLine:
    if row.line is None:
        return CreditedLine("All work, materials and travel", "", words.amount(row.net))
    details = [row.line.horse.name] if row.line.horse else []
    if row.line.day:
        details.append(formats.day_and_month(row.line.day, words.locale))
    if row.line.tax_names:
        details.append("taxed")
    return CreditedLine(name_of_line(row.line), ", ".join(details), words.amount(row.net))


def name_of_line(line: InvoiceLine) -> str:
    """Return what a line of an invoice is for: `Reset`, `Front shoe`, `Travel`."""
    return line.name
