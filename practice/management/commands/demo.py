"""`manage.py demo`: fills an empty book with the demo practice."""

import csv
from datetime import timedelta

from django.conf import settings
from django.core.management import CommandError
from django.db import transaction

from billing.actions.expenses import change_expense
from billing.actions.invoicing import close_days
from billing.actions.receipts import clean_receipt
from billing.models import Expense, Invoice
from practice.actions.photos import add_photos
from practice.lib.errors import RuleBroken
from practice.lib.formats import counted
from practice.lib.kept_files import draft_of
from practice.lib.pictures import clean_photo
from practice.lib.profile import Profile
from practice.lib.today import today
from practice.models import Finding
from practice.project.book.importer import import_book
from practice.project.book_command import BookCommand
from practice.project.demo.credits import credit_some
from practice.project.demo.hoof_drawings import drawings
from practice.project.demo.paying import payments
from practice.project.demo.receipts import pictures
from practice.project.demo.season import make_season


class Command(BookCommand):
    help = "Fills an empty book with an invented practice to try things out on."

    def add_arguments(self, parser):
        parser.add_argument("--years", type=int, default=1, help="how many years back (default: 1)")
        parser.add_argument("--seed", type=int, default=1, help="the same number makes the same practice")

    @transaction.atomic
    def handle(self, *, years, seed, **options):
        if not 1 <= years <= 40:
            self.refuse("--years must be a whole number from 1 to 40.")
        if Profile.objects.exists():
            raise RuleBroken(
                "book_not_empty",
                "This book is not empty. The demo practice needs an empty book:"
                " name another data folder with ROUNDBOOK_DATA.",
            )
        now = today()
        rows = make_season(years, seed, now)
        self.bring_in(rows)
        for ref, picture in pictures(rows["expenses.csv"]).items():
            change_expense(Expense.objects.get(ref=ref), receipt=clean_receipt(picture))
        for uuid, (picture, note) in drawings(rows["findings.csv"]).items():
            self.keep_drawing(Finding.objects.select_related("visit", "horse").get(uuid=uuid), picture, note)
        begin = now - timedelta(days=366 * years)
        close_days(begin, now - timedelta(days=1), now, progress=self.say_day)
        issued = Invoice.objects.select_related("client").order_by("issued", "pk")
        self.bring_in({"payments.csv": payments(issued, now)})
        credit_some(now)
        Profile.objects.update(is_demo=True)
        invoices, span = counted(issued.count(), "invoice"), counted(years, "year")
        self.stdout.write(f"The demo practice is ready: {invoices} over {span}.")

    def bring_in(self, rows: dict[str, list[dict]]) -> None:
        """Write rows as a book folder and import it like any other."""
        with draft_of(settings.DATA_DIR / "demo") as folder:
            folder.mkdir()
            for name, table in rows.items():
                header = list(dict.fromkeys(key for row in table for key in row))
                with (folder / name).open("w", newline="", encoding="utf-8") as file:
                    writer = csv.DictWriter(file, header or ["ref"])
                    writer.writeheader()
                    writer.writerows(table)
            report = import_book(folder)
        if report.problems:
            raise CommandError("\n".join(str(problem) for problem in report.problems[:20]))

    def keep_drawing(self, finding: Finding, picture: bytes, note: str) -> None:
        visit = finding.visit
        named = {"visit": visit, "finding": finding, "uuid": finding.uuid, "note": note}
        add_photos(finding.horse, [clean_photo(picture)], visit.date, **named)

    def say_day(self, day) -> None:
        if day.day == 1:
            self.show_progress(f"Closing {day:%B %Y}")
