"""`manage.py export_book`: the whole book as a folder of CSV files."""

from pathlib import Path

from django.core.management import BaseCommand

from practice.project.book.exporter import export_book


class Command(BaseCommand):
    help = "Writes the whole book as CSV files into an empty or new folder."

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path)

    def handle(self, *, folder, **options):
        export_book(folder, self.say)
        self.stdout.write(f"The book is in {folder}.")

    def say(self, name: str) -> None:
        if self.stderr.isatty():
            self.stderr.write(f"{name} ...")
