"""What a copy holds, and what in the data folder and the database is no part of it."""

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from django.conf import settings

from practice.lib.logo import NAMES as LOGOS
from practice.project.backup.inside import BookCounts

SQLITE, DUMP, FOLDER, LIST = "roundbook.sqlite3", "roundbook.dump", "book.zip", "contents.json"
# What in the data folder is a document; the rest is made again, or must not leave the machine.
DOCUMENTS = ("invoices", "phone", "photos", "receipts")
# Tables whose rows let somebody in, keep somebody out, or answer once: none of that is in a copy.
EMPTIED = (
    "axes_accessattempt",
    "axes_accessattemptexpiration",
    "axes_accessfailurelog",
    "axes_accesslog",
    "billing_sharedlink",
    "django_session",
    "practice_pairingcode",
    "practice_press",
)


@dataclass(frozen=True)
class Contents:
    """What a copy holds: the version that made it, its kind of database, each file's SHA-256, and what is
    in its book; None where the version that made it did not say.
    """

    version: str
    made_at: str
    database: str
    files: dict[str, str]
    book: BookCounts | None = None


def lock_file() -> Path:
    """Return the lock that is held while a copy is put in place of the book, or one is made by itself."""
    return settings.DATA_DIR / "restore.lock"


def documents() -> list[Path]:
    """Return the documents of the data folder."""
    paths = [settings.DATA_DIR / name for name in LOGOS]
    for folder in DOCUMENTS:
        paths += sorted((settings.DATA_DIR / folder).rglob("*"))
    return [path for path in paths if path.is_file() and not path.name.startswith(".")]


def copy_hashed(source: IO[bytes], target: IO[bytes] | None = None) -> str:
    """Read a file to its end, write it to `target` if there is one, and return its SHA-256."""
    digest = hashlib.sha256()
    while piece := source.read(1 << 20):
        digest.update(piece)
        if target:
            target.write(piece)
    return digest.hexdigest()
