"""`manage.py export_book`: the whole book as a folder of CSV files."""

from pathlib import Path

from practice.lib.formats import counted
from practice.models import PhoneEntry
from practice.project.book.exporter import export_book
from practice.project.book_command import BookCommand


class Command(BookCommand):
    help = (
        "Exports the whole book as CSV files to an empty or new folder. Text stays exactly as it was typed,"
        " even where a spreadsheet would take it for a formula."
    )

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path, metavar="FOLDER", help="an empty or new folder")

    def handle(self, *, folder, **options):
        export_book(folder, lambda name: self.show_progress(f"Writing {name}"))
        if left_out := PhoneEntry.objects.to_settle().count():
            entries = counted(left_out, "phone entry is", "phone entries are")
            self.stderr.write(f"{entries} still to settle, so not in the book yet and not in this export.")
        self.stdout.write(f"Exported the book to {folder}.")
