"""`manage.py import_book`: a folder of CSV files into the book, all or nothing."""

import json
from pathlib import Path

from django.core.management import BaseCommand, CommandError

from practice.project.book.importer import import_book


class Command(BaseCommand):
    help = "Brings a folder of CSV files into the book, all of it or nothing."

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path)
        parser.add_argument("--check", action="store_true", help="say what is wrong and change nothing")
        parser.add_argument("--json", action="store_true", help="one JSON document on standard output")

    def handle(self, *, folder, check, **options):
        report = import_book(folder, check, self.say)
        if options["json"]:
            errors = [
                {"file": p.file, "line": p.line, "column": p.column, "message": p.message}
                for p in report.problems
            ]
            document = {"files": report.files, "errors": errors}
            self.stdout.write(json.dumps(document, ensure_ascii=False, indent=1))
        elif not report.problems:
            for row in report.files:
                counts = f"{row['new']:>7} new {row['updated']:>6} updated {row['known']:>7} known"
                self.stdout.write(f"{row['file']:<22}{counts}")
            self.stdout.write("Nothing was written: --check." if check else "It is in the book.")
        for warning in report.warnings:
            self.stderr.write(warning)
        if report.problems:
            count = len(report.problems)
            shown = [] if options["json"] else [str(problem) for problem in report.problems]
            last = f"{count} error{'' if count == 1 else 's'}. Nothing was changed."
            raise CommandError("\n".join([*shown, last]), returncode=2)

    def say(self, step: str) -> None:
        if self.stderr.isatty():
            self.stderr.write(f"{step} ...")
