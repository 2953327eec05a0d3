"""`manage.py restore FILE`: puts a copy in the place of the book."""

from pathlib import Path

from django.core.management import BaseCommand

from practice.project.backup import restore_backup
from practice.project.commands import ensure_book


class Command(BaseCommand):
    help = "Puts a copy that `backup` made in the place of the book. Stop Roundbook first."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--replace", action="store_true", help="needed where there is a book; it is backed up first"
        )

    def handle(self, *, file, replace, **options):
        kept = restore_backup(file, replace=replace)
        ensure_book()
        if kept:
            self.stdout.write(f"The book that was here is kept in {kept}.")
        self.stdout.write(f"The book of {file} is back.")
