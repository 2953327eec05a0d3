"""`manage.py restore FILE`: replaces the book with a copy."""

from pathlib import Path

from practice.project.backup.restoring import restore_backup
from practice.project.book_command import BookCommand


class Command(BookCommand):
    help = "Restores a copy that `backup` made, also while Roundbook runs."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, metavar="FILE", help="the copy to restore")
        parser.add_argument(
            "--replace", action="store_true", help="replace the book that is here, after backing it up"
        )

    def handle(self, *, file, replace, **options):
        backed_up = restore_backup(file, replace=replace)
        if backed_up:
            self.stdout.write(f"Backed up the book that was here to {backed_up}.")
        self.stdout.write(f"Restored the book from {file}.")
