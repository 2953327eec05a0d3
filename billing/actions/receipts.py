"""Receipts: photos and PDF files in the data folder's `receipts`, each named after its content.

A photo is saved anew as a JPEG of moderate size, so that nothing the phone added goes with it: no
place, no time, no maker. A PDF is kept as it is, if it is no more than paper.
"""

import hashlib
import re
from collections.abc import Iterable
from pathlib import Path

from django.conf import settings

from billing.models import Expense
from practice.actions.photos import PHOTOS
from practice.lib.kept_files import clear_lost_files, keep_with_rows
from practice.lib.paper_pdf import check_pdf
from practice.lib.pictures import LARGEST, clean_photo
from practice.lib.profile import Profile
from practice.models import PhoneEntry, Photo

# Files of entries of phones that are to settle (practice/project/phone/taking.py).
OF_PHONES = "phone"
RECEIPTS = "receipts"
NAME = re.compile(r"[0-9a-f]{32}\.(jpg|pdf)")
CONTENT_TYPES = {".jpg": "image/jpeg", ".pdf": "application/pdf"}


def receipt_file(name: str) -> Path:
    """Return where the file of a receipt is. Raises ValueError for anything else."""
    if not NAME.fullmatch(name):
        raise ValueError(f"not a receipt: {name!r}")
    return settings.DATA_DIR / RECEIPTS / name


def name_of(content: bytes) -> str:
    """Return the name that a clean receipt is kept under: the same content has the same name."""
    suffix = ".pdf" if content.startswith(b"%PDF-") else ".jpg"
    return hashlib.sha256(content).hexdigest()[:32] + suffix


def keep_receipt(content: bytes) -> str:
    """Save a receipt that `clean_receipt` gave, with the expense of this transaction; return its name."""
    keep_receipts([content])
    return name_of(content)


def keep_receipts(contents: Iterable[bytes]) -> None:
    """Save receipts that `clean_receipt` gave, with the expenses of this transaction."""
    keep_with_rows((receipt_file(name_of(content)), content) for content in contents)


def clear_lost_documents() -> None:
    """Delete the files of transactions that never came to their end, unless the book has them."""
    clear_lost_files(is_of_the_book)


def is_of_the_book(path: Path) -> bool:
    """Whether the book has a file: an expense its receipt, a horse its photo, an entry of a phone what came
    with it, the practice all else.
    """
    if path.parent.name == RECEIPTS:
        return Expense.objects.filter(receipt=path.name).exists()
    if path.parent.name == PHOTOS:
        return Photo.objects.filter(file=path.name).exists()
    if path.parent.name == OF_PHONES:
        return PhoneEntry.objects.filter(uuid=path.stem).exclude(files=[]).exists()
    return Profile.objects.exists()


def clean_receipt(content: bytes) -> bytes:
    """Return a receipt as it is kept: a JPEG without anything but the picture, or the PDF as it is.

    The content decides what it is, not the file's name; what is clean already comes back unchanged.
    Raises ValueError for anything else and for what is too large; the message says what to do.
    """
    if len(content) > LARGEST:
        raise ValueError("This file is larger than 10 MB. Take a smaller photo.")
    if content.startswith(b"%PDF-"):
        check_pdf(content)
        return content
    return clean_photo(content, "This is neither a photo (JPEG or PNG) nor a PDF.")
