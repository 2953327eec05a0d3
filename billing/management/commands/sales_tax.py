"""`manage.py sales_tax`: tax by area and name for a period, invoiced and received."""

import json

from django.core.management import BaseCommand, CommandError

from billing.reports.sales_tax import SalesTax, sales_tax
from billing.reports.year.contract import Amounts
from billing.reports.year_end import DEFERS
from billing.rules.taxed import RateTax
from practice.lib.formats import amount, percent
from practice.lib.iso import iso_date
from practice.lib.periods import Period
from practice.lib.plain import plain
from practice.lib.profile import Profile


class Command(BaseCommand):
    help = "Adds up sales tax by area, name and rate for some days, invoiced and received."

    def add_arguments(self, parser):
        parser.add_argument("--from", type=iso_date, dest="begin", required=True, help="the first day")
        parser.add_argument("--to", type=iso_date, dest="end", required=True, help="the last day")
        parser.add_argument("--json", action="store_true", help="one JSON document on standard output")

    def handle(self, *, begin, end, **options):
        if end < begin:
            raise CommandError("The days end before they begin.", returncode=2)
        profile = Profile.current()
        found = sales_tax(Period(begin, end), profile)
        if options["json"]:
            self.stdout.write(json.dumps(by_contract(found, profile), ensure_ascii=False, indent=1))
        else:
            self.report(found, profile)

    def report(self, found: SalesTax, profile: Profile) -> None:
        for row in found.rows:
            named = " ".join(filter(None, [row.name, row.area])) or "Invoices without lines"
            rate = "" if row.rate is None else f", {percent(row.rate, profile.locale)}"
            self.stdout.write(f"{named}{rate}")
            for basis, rated in (("invoiced", row.invoiced), ("received", row.received)):
                taxable, exempt, tax = (
                    amount(value, profile.currency, profile.locale)
                    for value in (rated.taxable, rated.exempt, rated.tax)
                )
                self.stdout.write(f"  {basis}: taxable {taxable}, exempt {exempt}, tax {tax}")
        charged, collected = (
            amount(value, profile.currency, profile.locale) for value in (found.charged, found.collected)
        )
        self.stdout.write(f"Tax invoiced {charged}, received {collected}. {DEFERS}")


def by_contract(found: SalesTax, profile: Profile) -> dict:
    """Return the document of the contract; every number is text in plain decimal notation."""
    write = Amounts(profile.currency)

    def sums(rated: RateTax) -> dict:
        return {"taxable": write(rated.taxable), "exempt": write(rated.exempt), "tax": write(rated.tax)}

    return {
        "from": found.period.begin.isoformat(),
        "to": found.period.end.isoformat(),
        "areas": [
            {
                "area": row.area,
                "name": row.name,
                "rate": "" if row.rate is None else plain(row.rate),
                "invoiced": sums(row.invoiced),
                "received": sums(row.received),
            }
            for row in found.rows
        ],
    }
