"""`manage.py credit`: issues a credit note for an invoice, or for some of its lines, and makes its PDF."""

from decimal import Decimal, InvalidOperation

from billing.actions.crediting import issue_credit_note
from billing.models import CreditNote, Invoice
from billing.papers.documents import credit_note_path, credit_note_pdf
from billing.reports.credits import credits_of_invoice
from billing.rules.totals import by_name_and_rate
from practice.lib.formats import money
from practice.lib.money import round_money
from practice.lib.pdf import PdfUnavailable
from practice.lib.profile import Profile
from practice.lib.today import today
from practice.project.book_command import BookCommand, iso_date


class Command(BookCommand):
    help = "Issues a credit note for all that is left of an invoice, or for some of its lines."
    offers_json = True

    def add_arguments(self, parser):
        parser.add_argument("invoice", metavar="INVOICE", help="the number of the invoice")
        parser.add_argument(
            "--lines",
            metavar="LINES",
            help="lines from 1 on with a comma between; with an amount, that much of a line: 1,3:25.00",
        )
        parser.add_argument(
            "--reason",
            choices=CreditNote.Why.values,
            default=CreditNote.Why.CORRECTION.value,
            help="default: correction",
        )
        parser.add_argument("--date", type=iso_date, metavar="DATE", help="default: today")
        parser.add_argument(
            "--again", action="store_true", help="bill again the stops that this credits in full"
        )
        super().add_arguments(parser)

    def handle(self, *, invoice, lines, reason, again, **options):
        billed = Invoice.objects.filter(number=invoice).select_related("client").first()
        if billed is None:
            self.refuse(f'There is no invoice with the number "{invoice}".')
        amounts = None if lines is None else self.read_lines(lines)
        note = issue_credit_note(billed, options["date"] or today(), amounts, reason=reason, again=again)
        path = self.make_pdf(note)
        profile = Profile.current()
        if options["json"]:
            self.print_json(as_json(note, path, profile))
        else:
            total = money(note.total, profile.currency, profile.locale)
            self.stdout.write(f"{note.number}  {note.issued}  {total:>14}  off invoice {billed.number}")

    def read_lines(self, text: str) -> dict[int, Decimal | None]:
        """Return the amounts by line of `1,3:25.00`; None: all that is left of the line."""
        amounts: dict[int, Decimal | None] = {}
        for part in text.split(","):
            number, colon, amount = part.strip().partition(":")
            try:
                value = Decimal(amount) if colon else None
            except InvalidOperation:
                value = Decimal("NaN")
            if not number.isascii() or not number.isdigit() or (value is not None and not value.is_finite()):
                self.refuse(
                    f'"{part}" is not a line. Give numbers, with an amount where it is a part: 1,3:25.00.'
                )
            if int(number) in amounts:
                self.refuse(f"Line {int(number)} is given twice.")
            amounts[int(number)] = value
        return amounts

    def make_pdf(self, note: CreditNote) -> str | None:
        """Make the PDF; where that is not possible here, say so: it is made when it is first opened."""
        try:
            credit_note_pdf(note)
        except PdfUnavailable as error:
            self.stderr.write(f"The credit note is issued, but its PDF could not be made. {error}")
            return None
        return credit_note_path(note)


def as_json(note: CreditNote, pdf: str | None, profile: Profile) -> dict:
    """Return the document of the contract; every number but a line's is text in plain decimal notation."""
    credits = credits_of_invoice(note.invoice)
    credit = credits.credit_of(note)
    taxes = () if credits.standing.is_exempt else by_name_and_rate(credit.taxes)

    def amount(value: Decimal) -> str:
        return f"{round_money(value, profile.currency):f}"

    return {
        "number": note.number,
        "invoice": note.invoice.number,
        "client": note.invoice.client.key,
        "date": note.issued.isoformat(),
        "net": amount(note.net),
        "tax": amount(note.tax),
        "total": amount(note.total),
        "pdf": pdf,
        "taxes": [
            {"name": row.name, "rate": f"{row.rate:f}", "base": amount(row.base), "tax": amount(row.tax)}
            for row in taxes
        ],
        "lines": [{"line": line, "net": amount(net)} for line, net in credit.lines.items()],
    }
