"""`manage.py backup FILE`: a verified copy of book and documents."""

from pathlib import Path

from django.core.management import BaseCommand

from practice.project.backup import make_backup


class Command(BaseCommand):
    help = "Writes a verified copy of book and documents into a new file."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)

    def handle(self, *, file, **options):
        contents = make_backup(file)
        count = len(contents.files) - 1
        documents = "1 document" if count == 1 else f"{count} documents"
        self.stdout.write(f"{file}: the book and {documents}, read back and compared.")
