"""`manage.py backup [FILE]`: a verified copy of book and documents."""

from pathlib import Path

from practice.lib.formats import counted
from practice.lib.today import now
from practice.project.backup.copies import make_backup
from practice.project.backup.daily import back_up_today
from practice.project.book_command import BookCommand


class Command(BookCommand):
    help = "Saves a verified copy of the book and its documents to a new file, or makes the copy of the day."

    def add_arguments(self, parser):
        parser.add_argument(
            "file",
            nargs="?",
            type=Path,
            metavar="FILE",
            help="the file to create; without it, the backup of today, unless there is one already",
        )

    def handle(self, *, file, **options):
        if file is None:
            copy, is_new = back_up_today(now())
            said = "The copy is verified." if is_new else "It was there already."
            self.stdout.write(f"The backup of today is {copy.path}. {said}")
            return
        contents = make_backup(file)
        documents = counted(len(contents.files) - 1, "document")
        self.stdout.write(f"Saved the book and {documents} to {file}. The copy is verified.")
