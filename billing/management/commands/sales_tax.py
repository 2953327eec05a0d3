"""`manage.py sales_tax`: tax by area and name for a period, invoiced and received."""

from billing.reports.sales_tax import SalesTax, sales_tax
from billing.reports.year.contract import Amounts
from billing.reports.year_end import DEFERS
from billing.rules.taxed import RateTax
from practice.lib.formats import amount, percent
from practice.lib.periods import Period
from practice.lib.plain import plain
from practice.lib.profile import Profile
from practice.project.book_command import BookCommand, iso_date


class Command(BookCommand):
    help = "Totals the sales tax of a period by area, name and rate, as invoiced and as received."
    offers_json = True

    def add_arguments(self, parser):
        parser.add_argument(
            "--from", type=iso_date, metavar="DATE", dest="begin", required=True, help="the first day"
        )
        parser.add_argument(
            "--to", type=iso_date, metavar="DATE", dest="end", required=True, help="the last day"
        )
        super().add_arguments(parser)

    def handle(self, *, begin, end, **options):
        if end < begin:
            self.refuse("--to is before --from. Give the first day as --from.")
        profile = Profile.current()
        taxes = sales_tax(Period(begin, end), profile)
        if options["json"]:
            self.print_json(by_contract(taxes, profile))
        else:
            self.report(taxes, profile)

    def report(self, taxes: SalesTax, profile: Profile) -> None:
        for row in taxes.rows:
            rate = "" if row.rate is None else f", {percent(row.rate, profile.locale)}"
            self.stdout.write(f"{row.label}{rate}")
            for basis, rated in (("invoiced", row.invoiced), ("received", row.received)):
                taxable, exempt, tax = (
                    amount(value, profile.currency, profile.locale)
                    for value in (rated.taxable, rated.exempt, rated.tax)
                )
                self.stdout.write(f"  {basis}: taxable {taxable}, exempt {exempt}, tax {tax}")
        charged, collected = (
            amount(value, profile.currency, profile.locale) for value in (taxes.charged, taxes.collected)
        )
        self.stdout.write(f"Tax invoiced {charged}, received {collected}. {DEFERS}")


def by_contract(taxes: SalesTax, profile: Profile) -> dict:
    """Return the document of the contract; every number is text in plain decimal notation."""
    write = Amounts(profile.currency)

    def sums(rated: RateTax) -> dict:
        return {"taxable": write(rated.taxable), "exempt": write(rated.exempt), "tax": write(rated.tax)}

    return {
        "from": taxes.period.begin.isoformat(),
        "to": taxes.period.end.isoformat(),
        "areas": [
            {
                "area": row.area,
                "name": row.name,
                "rate": "" if row.rate is None else plain(row.rate),
                "invoiced": sums(row.invoiced),
                "received": sums(row.received),
            }
            for row in taxes.rows
        ],
    }
