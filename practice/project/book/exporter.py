"""The whole book as a folder of CSV files."""

import csv
import os
from collections.abc import Callable
from pathlib import Path

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.kept_files import draft_of
from practice.lib.profile import Profile
from practice.project.book.columns import BookFile
from practice.project.book.files import files
from practice.project.book.files_folder import export_files


def export_book(folder: Path, progress: Callable[[str], None] = lambda name: None) -> None:
    """Write the book into an empty or new folder, all of it or nothing.

    Raises RuleBroken("folder_not_empty").
    """
    folder = folder.absolute()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise RuleBroken("folder_not_empty", f"{folder} is not an empty folder. Name a new one.")
    with draft_of(folder) as draft:
        draft.mkdir(mode=0o700)
        with transaction.atomic():
            for file in files(Profile.current().currency):
                progress(file.name)
                write_file(draft / file.name, file)
        export_files(draft)
        draft.chmod(0o755 & ~current_umask())
        if folder.exists():
            folder.rmdir()
        draft.replace(folder)


def write_file(path: Path, file: BookFile) -> None:
    """Write one file: header, then the rows in order as they come from the book, CRLF (RFC 4180)."""
    with path.open("w", newline="", encoding="utf-8") as out:
        writer = csv.writer(out, lineterminator="\r\n")
        writer.writerow([column.name for column in file.columns])
        for row in file.stream():
            writer.writerow([column.write(column.of(row)) for column in file.columns])


def current_umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
