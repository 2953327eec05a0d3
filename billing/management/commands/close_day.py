"""`manage.py close_day`: issues the invoices of a day or several, and makes their PDFs."""

from datetime import date

from billing.actions.invoicing import close_days
from billing.models import Invoice
from billing.papers.documents import pdf_path_if_made, write_invoice_pdfs
from billing.reports.close_warnings import warnings_of
from billing.rules.totals import by_name_and_rate, taxes_of
from practice.lib.formats import counted, money
from practice.lib.money import round_money
from practice.lib.profile import Profile
from practice.lib.today import today
from practice.project.book_command import BookCommand, iso_date


class Command(BookCommand):
    help = "Issues the invoices of a day (default: today) or several, in date order."
    offers_json = True

    def add_arguments(self, parser):
        parser.add_argument("--date", type=iso_date, metavar="DATE", help="one day")
        parser.add_argument(
            "--from", type=iso_date, metavar="DATE", dest="begin", help="the first of several days"
        )
        parser.add_argument("--to", type=iso_date, metavar="DATE", dest="end", help="the last of them")
        parser.add_argument(
            "--no-pdf",
            action="store_true",
            help="make each PDF when it is first opened, not now",
        )
        super().add_arguments(parser)

    def handle(self, *, begin, end, no_pdf, **options):
        if options["date"] and (begin or end):
            self.refuse("Give either --date, or --from and --to.")
        if bool(begin) != bool(end):
            self.refuse("Give both --from and --to.")
        begin = begin or options["date"] or today()
        end = end or begin
        closing = close_days(begin, end, today(), progress=self.say_day)
        if not no_pdf and closing.invoices:
            problem = write_invoice_pdfs([invoice.pk for invoice in closing.invoices])
            if problem:
                self.stderr.write(problem)
        profile = Profile.current()
        warnings = [warned.text for warned in warnings_of(begin, end, profile)]
        if options["json"]:
            self.print_json(as_json(closing, warnings, profile))
        else:
            self.report(closing, warnings, profile)

    def say_day(self, on: date) -> None:
        self.show_progress(f"Closing {on.isoformat()}")

    def report(self, closing, warnings: list[str], profile: Profile) -> None:
        for invoice in closing.invoices:
            total = money(invoice.total, profile.currency, profile.locale)
            self.stdout.write(f"{invoice.number}  {invoice.issued}  {total:>14}  {invoice.client_name}")
        for held in closing.held:
            self.stdout.write(f"Held back: {held.visit.date}, {held.visit.place}. {held.reason}")
        for text in warnings:
            self.stdout.write(f"Looks wrong: {text}")
        self.stdout.write(f"{counted(len(closing.invoices), 'invoice')} issued.")


def as_json(closing, warnings: list[str], profile: Profile) -> dict:
    """Return the document of the contract; every number is text in plain decimal notation."""
    return {
        "invoices": [invoice_json(invoice, profile) for invoice in closing.invoices],
        "held": [
            {"visit": held.visit.key, "code": held.code, "reason": held.reason} for held in closing.held
        ],
        "warnings": warnings,
    }


def invoice_json(invoice: Invoice, profile: Profile) -> dict:
    lines = list(invoice.lines.select_related("visit", "horse", "service", "item", "charge").order_by("pk"))
    parts = [line.as_part() for line in lines]
    taxes = taxes_of([(part.net, part.taxes) for part in parts], invoice.tax, profile.currency)

    def amount(value):
        return f"{round_money(value, profile.currency):f}"

    return {
        "number": invoice.number,
        "client": invoice.client.key,
        "date": invoice.issued.isoformat(),
        "due": invoice.due.isoformat(),
        "net": amount(invoice.net),
        "tax": amount(invoice.tax),
        "total": amount(invoice.total),
        "pdf": pdf_path_if_made(invoice),
        "taxes": [
            {"name": row.name, "rate": f"{row.rate:f}", "base": amount(row.base), "tax": amount(row.tax)}
            for row in by_name_and_rate(taxes)
        ],
        "lines": [
            {
                "kind": line.kind,
                "visit": line.visit.key if line.visit else "",
                "horse": line.horse.key if line.horse else "",
                "code": line.code,
                "quantity": f"{line.quantity:f}",
                "unit_price": f"{line.unit_price:f}",
                "share": f"{line.share:f}",
                "net": amount(line.net),
            }
            for line in lines
        ],
    }
