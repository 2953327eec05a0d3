"""`manage.py import_book`: a folder of CSV files into the book, all or nothing."""

from pathlib import Path

from practice.lib.formats import counted
from practice.lib.today import today
from practice.project.book.importer import Report, import_book
from practice.project.book_command import BookCommand


class Command(BookCommand):
    help = "Imports a folder of CSV files into the book: all of it, or nothing if there is an error."
    offers_json = True

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path, metavar="FOLDER", help="the folder with the CSV files")
        parser.add_argument("--check", action="store_true", help="report what is wrong and change nothing")
        super().add_arguments(parser)

    def handle(self, *, folder, check, **options):
        report = import_book(folder, check, self.show_progress, today())
        if options["json"]:
            self.print_json(as_json(report))
        elif not report.problems:
            self.print_counts(report)
            self.stdout.write("No errors. Nothing was imported (--check)." if check else "Imported.")
        if not options["json"]:
            for warning in report.warnings:
                self.stderr.write(str(warning))
        if report.problems:
            lines = [] if options["json"] else [str(problem) for problem in report.problems]
            errors = counted(len(report.problems), "error")
            self.refuse("\n".join([*lines, f"{errors}. Nothing was changed."]))

    def print_counts(self, report: Report) -> None:
        for row in report.files:
            counts = f"{row['new']:>7} new {row['updated']:>6} updated {row['known']:>7} known"
            self.stdout.write(f"{row['file']:<22}{counts}")


def as_json(report: Report) -> dict:
    errors, warnings = ([vars(row) for row in rows] for rows in (report.problems, report.warnings))
    return {"files": report.files, "errors": errors, "warnings": warnings}
