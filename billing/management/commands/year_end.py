"""`manage.py year_end`: the totals of a tax year."""

from pathlib import Path

from billing.pack import write_pack
from billing.reports.year.contract import by_contract
from billing.reports.year.words import Words
from billing.reports.year_end import DEFERS, YearEnd, year_end
from practice.lib.formats import counted, distance, long_date, money, quantity
from practice.lib.pdf import PdfUnavailable
from practice.lib.profile import Profile
from practice.lib.today import today
from practice.project.book_command import BookCommand
from practice.project.exits import EnvironmentProblem


class Command(BookCommand):
    help = "Totals the tax year that begins in YEAR and, with --out, makes the pack for the tax preparer."
    offers_json = True

    def add_arguments(self, parser):
        parser.add_argument("year", type=int, metavar="YEAR", help="the year in which the tax year begins")
        parser.add_argument("--out", type=Path, metavar="FOLDER", help="an empty or new folder for the pack")
        super().add_arguments(parser)

    def handle(self, *, year, out, **options):
        profile = Profile.current()
        totals = year_end(year, profile, today())
        if out is not None:
            self.pack(totals, out, profile)
        if options["json"]:
            self.print_json(by_contract(totals))
        else:
            self.report(totals, profile)

    def pack(self, year: YearEnd, out: Path, profile: Profile) -> None:
        self.show_progress("Making the pack")
        try:
            documents = write_pack(year, out, profile, today())
        except PdfUnavailable as error:
            raise EnvironmentProblem(str(error)) from error
        self.stderr.write(f"Wrote {counted(len(documents), 'file')} to {out}.")

    def report(self, year: YearEnd, profile: Profile) -> None:
        def amount(value) -> str:
            return money(value, profile.currency, profile.locale)

        def far(value) -> str:
            return distance(value, profile.distance_unit, profile.locale)

        begin, end = (long_date(day, profile.locale) for day in (year.period.begin, year.period.end))
        self.stdout.write(f"{begin} to {end}")
        materials, miles = year.materials, year.miles
        self.rows(
            ("Received", amount(year.income.total)),
            (f"  including {profile.home_country.sales_tax}", amount(year.income.tax)),
            ("  net of tax", amount(year.income.net_of_tax)),
            ("Invoiced", amount(year.invoiced.total)),
            ("Owed at the end of the year", amount(year.accounts.receivable)),
            ("Credit at the end of the year", amount(year.accounts.credit)),
            ("Materials at the start of the year", amount(materials.opening_value)),
            ("  purchased", amount(materials.purchased)),
            ("  used on own horses", amount(materials.withdrawn)),
            ("  count differences", amount(materials.count_adjustments)),
            ("  used", amount(materials.used)),
            ("  at the end of the year", amount(materials.closing_value)),
            *((f"Spent on {row.category}", amount(row.amount)) for row in year.expenses.rows),
            ("Business distance", far(miles.business)),
            ("  commuting", far(miles.commuting)),
            ("  personal", far(miles.personal)),
            ("  not logged", far(miles.unlogged) if miles.is_measured else Words(profile).not_logged(miles)),
            ("  at the standard rate", amount(miles.standard.total)),
            ("  at actual cost", amount(miles.actual.amount)),
            ("Visits", str(year.work.visits)),
            ("Horses seen", str(year.work.horses_seen)),
            *(
                (f"  {quantity(row.count, profile.locale)} × {row.service}", amount(row.net))
                for row in year.work.by_service
            ),
        )
        for warning in year.warnings:
            self.stdout.write(f"To fix: {warning.text}")
        self.stdout.write(f"Both ways for miles and materials are shown; neither is advised. {DEFERS}")

    def rows(self, *rows: tuple[str, str]) -> None:
        for label, value in rows:
            self.stdout.write(f"{label:<40}{value:>16}")
