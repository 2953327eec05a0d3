"""What an invoice shows on paper: plain values, already in words, and how they are found in the book."""

from dataclasses import dataclass

from django.utils.text import slugify

from billing.models import Invoice
from billing.papers.client_words import ClientWords
from billing.papers.invoice_blocks import HorseBlock, InvoicePaperLine, horse_blocks, own_lines
from billing.papers.letter import ClientLetter, ClosingSum, TaxShown, closing_taxes, taxes_shown
from billing.rules.totals import taxes_of
from practice.lib import formats
from practice.lib.letterhead import letterhead
from practice.lib.profile import Profile
from practice.models import Visit


@dataclass(frozen=True, kw_only=True)
class InvoicePaper(ClientLetter):
    """An invoice as it is printed."""

    number: str
    issued: str
    due: str
    visits_label: str
    visits: str
    blocks: list[HorseBlock]
    own: list[InvoicePaperLine]
    net: str
    taxes: list[TaxShown]
    total: str
    credit: str
    amount_due: str
    how_to_pay: list[tuple[str, str]]

    @property
    def title(self) -> str:
        return f"Invoice {self.number}"

    @property
    def facts(self) -> list[tuple[str, str]]:
        rows = [("Date", self.issued), (self.visits_label, self.visits), ("Due", self.due)]
        return [(label, words) for label, words in rows if words]

    @property
    def figure(self) -> str:
        return self.amount_due

    @property
    def comes(self) -> list[ClosingSum]:
        rows = [
            ClosingSum(self.net_label, self.net),
            *closing_taxes(self.taxes),
            ClosingSum("Total", self.total, "total"),
        ]
        if self.credit:
            rows.append(ClosingSum("Credit applied", self.credit))
        return [*rows, ClosingSum("Amount due", self.amount_due, "due")]

    @property
    def own_label(self) -> str:
        """What stands above the lines that belong to no horse."""
        return "Charges and discounts" if self.blocks else "Charges"

    @property
    def net_label(self) -> str:
        """What the net amount is the sum of."""
        if not self.own:
            return "Work, materials and travel"
        return "Sum before tax" if self.taxes else "Sum"


def invoice_paper(invoice: Invoice) -> InvoicePaper:
    """Return what the invoice shows. Names, addresses and credit are those saved with it."""
    profile = Profile.current()
    words = ClientWords(invoice, profile)
    lines = list(invoice.lines.for_paper())
    parts = [line.as_part() for line in lines]
    taxes = taxes_of([(part.net, part.taxes) for part in parts], invoice.tax, profile.currency)
    visits = list({line.visit_id: line.visit for line in lines if line.horse_id}.values())
    return InvoicePaper(
        **letterhead(profile, words.locale, invoice.practice_name, invoice.practice_address),
        number=invoice.number,
        client_name=invoice.client_name or invoice.client.name,
        client_address=invoice.client_address or invoice.client.address,
        issued=formats.long_date(invoice.issued, words.locale),
        due=formats.long_date(invoice.due, words.locale),
        visits_label="Visit" if len(visits) == 1 else "Visits",
        visits=visits_in_words(visits, words.locale),
        heading=heading(invoice, words),
        blocks=horse_blocks(invoice, lines, profile, words),
        own=own_lines(lines, words),
        net=words.amount(invoice.net),
        taxes=taxes_shown(taxes, words),
        total=words.amount(invoice.total),
        credit=words.amount(-invoice.credit_applied) if invoice.credit_applied else "",
        amount_due=words.money(invoice.total - invoice.credit_applied),
        how_to_pay=how_to_pay(profile),
    )


def heading(invoice: Invoice, words: ClientWords) -> str:
    """Say what stands beside the amount due: by when, or that credit covers it."""
    if invoice.total <= invoice.credit_applied:
        return "Nothing due: your credit covers it"
    return f"Amount due by {formats.day_and_month(invoice.due, words.locale)}"


def visits_in_words(visits: list[Visit], locale: str) -> str:
    """Say when and where the visits were: `October 14, Larkspur Barn`; several days are counted."""
    days = sorted({visit.date for visit in visits})
    places = list(dict.fromkeys(visit.place.name for visit in visits))
    if not days:
        return ""
    first, last = formats.day_and_month(days[0], locale), formats.day_and_month(days[-1], locale)
    if len(days) > 1:
        return f"{len(days)} days, {first} to {last}"
    more = f" and {len(places) - 2} more" if len(places) > 2 else ""
    return f"{first}, {', '.join(places[:2])}{more}"


def how_to_pay(profile: Profile) -> list[tuple[str, str]]:
    """Return the practice's ways to pay, one a line, with what comes before a colon as its heading.

    Without one: `Or`, but for the first.
    """
    pairs = []
    for line in profile.pay_note.splitlines():
        head, colon, rest = line.partition(":")
        if line.strip():
            pairs.append((head.strip(), rest.strip()) if colon else ("Or" if pairs else "", line.strip()))
    return pairs


def file_name(number: str) -> str:
    """Return a safe and unique file name for an invoice's number, whatever an import brought."""
    if number.isascii() and all(c.isalnum() or c in "-_" for c in number):
        return number
    return f"{slugify(number) or 'invoice'}-{number.encode().hex()}"
