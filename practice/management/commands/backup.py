"""`manage.py backup FILE`: a verified copy of book and documents."""

from pathlib import Path

from practice.lib.formats import counted
from practice.project.backup.copies import make_backup
from practice.project.book_command import BookCommand


class Command(BookCommand):
    help = "Saves a verified copy of the book and its documents to a new file."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, metavar="FILE", help="the file to create")

    def handle(self, *, file, **options):
        contents = make_backup(file)
        documents = counted(len(contents.files) - 1, "document")
        self.stdout.write(f"Saved the book and {documents} to {file}. The copy is verified.")
