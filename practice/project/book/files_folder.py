"""The documents and photos of the book: the folder `files`, and `files.csv` that names them."""

import hashlib
import logging
import os
import shutil
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from django.db import transaction

from billing.actions.receipts import clean_receipt, keep_receipts, name_of, receipt_file
from billing.models import Expense
from practice.actions.photos import keep_photos, photo_file, photo_name
from practice.lib.characters import shown
from practice.lib.logo import clean_logo, keep_logo, logo_file, suffix_of
from practice.lib.pictures import LARGEST, clean_photo
from practice.models import Photo
from practice.project.book.columns import NAME, BookColumn, BookFile, ref, text
from practice.project.book.values import Choice

FILES_CSV, FILES_FOLDER = "files.csv", "files"
LOGO, RECEIPT, PHOTO = "logo", "receipt", "photo"
# What names a file of each kind: the column of files.csv.
NAMED_BY = {RECEIPT: "expense", PHOTO: "photo"}


@dataclass(frozen=True)
class Attachment:
    """A file of the book: its name in the folder, what it is, whose it is, and where it lies."""

    name: str
    what: str
    path: Path
    expense: Expense | None = None
    photo: Photo | None = None


def files_csv() -> BookFile:
    """Return the file that names the others. Names follow the content: another photo, another name."""
    return BookFile(
        FILES_CSV,
        (
            text("name", NAME, required=True),
            BookColumn("what", Choice([LOGO, RECEIPT, PHOTO]), required=True),
            ref("expense", "expenses.csv"),
            ref("photo", "photos.csv"),
        ),
        attachments,
        known_by=("name", "expense", "photo"),
    )


def attachments() -> list[Attachment]:
    """Return the logo, then the receipts in order of entry of their expenses, then the photos likewise.

    One whose file is gone from the data folder is left out, as is a logo that is damaged there, and the log
    says so.
    """
    attached, logo = [], logo_file()
    if logo:
        try:
            attached.append(Attachment(name_in_book(LOGO, logo), LOGO, logo))
        except ValueError as error:
            logging.getLogger(__name__).warning("The logo %s is left out: %s", logo, error)
    for expense in Expense.objects.exclude(receipt="").order_by("pk"):
        path = receipt_file(expense.receipt)
        if path.is_file():
            attached.append(Attachment(expense.receipt, RECEIPT, path, expense=expense))
        else:
            logging.getLogger(__name__).warning("The receipt %s of %s is gone.", path, expense)
    for photo in Photo.objects.exclude(file="").select_related("horse").order_by("pk"):
        path = photo_file(photo.file)
        if path.is_file():
            attached.append(Attachment(photo.file, PHOTO, path, photo=photo))
        else:
            logging.getLogger(__name__).warning("The photo %s is gone: %s.", path, photo)
    return attached


def export_files(folder: Path) -> None:
    """Put the files of the book into the folder `files`; where there are none, there is no folder."""
    for attachment in attachments():
        (folder / FILES_FOLDER).mkdir(exist_ok=True)
        shutil.copyfile(attachment.path, folder / FILES_FOLDER / attachment.name)


def read_files(folder) -> None:
    """Look at each file that a book folder names; report what is missing, not listed or not a picture.

    Names become those that the book keeps them under; `source` of a row is where its file lies.
    """
    named = set()
    for row in folder.rows(FILES_CSV):
        name = row["name"]
        named.add(name)
        path = folder.path / FILES_FOLDER / name
        if Path(name).name != name or not os.path.isfile(path):
            folder.complain(FILES_CSV, row.line, "name", f'"{name}" is not in the folder {FILES_FOLDER}')
            continue
        if wrong := [column for column in NAMED_BY.values() if _is_misplaced(row, column)]:
            for column in wrong:
                is_missing = row[column] is None
                message = (
                    f"is required for a {row['what']}" if is_missing else f"must be blank for a {row['what']}"
                )
                folder.complain(FILES_CSV, row.line, column, message)
            continue
        try:
            row["name"], row.source = name_in_book(row["what"], path), path
        except ValueError as error:
            folder.complain(FILES_CSV, row.line, "name", f"{name}: {error}")
    for name in sorted(_names_in(folder.path / FILES_FOLDER) - named):
        folder.complain(f"{FILES_FOLDER}/{shown(name)}", None, "", f"is not listed in {FILES_CSV}")


def _is_misplaced(row, column: str) -> bool:
    """Whether a row names something that its kind of file has not, or the other way round."""
    return (row[column] is None) == (NAMED_BY.get(row["what"]) == column)


def _names_in(path: Path) -> set[str]:
    return (
        {entry.name for entry in path.iterdir() if not entry.name.startswith(".")} if path.is_dir() else set()
    )


def name_in_book(what: str, path: Path) -> str:
    """Return what the book calls a file, by its content. Raises ValueError for what it does not keep."""
    content = _content(path)
    if what == RECEIPT:
        return name_of(clean_receipt(content))
    if what == PHOTO:
        return photo_name(clean_photo(content))
    clean = clean_logo(content)
    return f"logo-{hashlib.sha256(clean).hexdigest()[:8]}{suffix_of(clean)}"


def _content(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(LARGEST + 1)


def keep_attachments(files: list[tuple[str, Path]]) -> None:
    """Save files that `read_files` accepted: with the rows that name them, and the logo after them."""
    keep_receipts(clean_receipt(_content(path)) for what, path in files if what == RECEIPT)
    keep_photos(clean_photo(_content(path)) for what, path in files if what == PHOTO)
    for what, path in files:
        if what == LOGO:
            transaction.on_commit(partial(keep_logo, _content(path)))
