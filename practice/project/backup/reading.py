"""Reading a copy. Whoever hands one over may mean harm, so it is believed only what was checked.

Whatever is wrong with it ends in RuleBroken("backup_damaged") with the reason; a disk that is full is not
the copy's fault and stays an OSError.
"""

import json
import os
import sqlite3
import stat
import struct
import zipfile
import zlib
from collections.abc import Callable
from contextlib import contextmanager
from pathlib import Path, PurePosixPath

from django.conf import settings
from django.db import connection

from practice.lib.errors import RuleBroken
from practice.lib.kept_files import draft_of
from practice.project.backup.contents import (
    DOCUMENTS,
    DUMP,
    FOLDER,
    LIST,
    LOGOS,
    SQLITE,
    Contents,
    copy_hashed,
)
from practice.project.backup.databases import check_database
from practice.project.backup.inside import BookCounts, BookRows
from practice.project.exits import NOT_WRITABLE, EnvironmentProblem
from practice.project.room import is_full

LARGEST_LIST = 64_000_000
# A database of a practice packs to a tenth or so. Beyond this it was made to fill the disk.
MOST_TIMES, NEVER_MIND = 200, 100_000_000
LONGEST_NAME, LONGEST_PATH = 200, 1000
DAMAGE = (
    *(zipfile.BadZipFile, zlib.error, struct.error, sqlite3.Error, NotImplementedError, RuntimeError),
    *(EOFError, LookupError, TypeError, ValueError, ArithmeticError, AttributeError, RecursionError),
)


def check_backup(source: Path) -> Contents:
    """Return what a copy of this book holds, after checking each file and the database.

    Raises RuleBroken as `unpack` does.
    """
    with draft_of(settings.DATA_DIR / "check") as folder:
        return unpack(source, folder, with_documents=False, from_here=True)[0]


def look_into(source: Path) -> tuple[Contents, BookRows]:
    """Return what a copy holds and what is in its book, after checking all of it. Raises as `unpack` does."""
    with draft_of(settings.DATA_DIR / "check") as folder:
        return unpack(source, folder, with_documents=False)


def unpack(
    source: Path,
    folder: Path,
    with_documents: bool = True,
    from_here: bool = False,
    look_for_room: Callable[[Contents, int], None] = lambda contents, size: None,
) -> tuple[Contents, BookRows]:
    """Check a copy, lay its database and its documents into a new folder; return what it holds, and what is
    in its book.

    `look_for_room` is told how many bytes will be written before any is. Raises RuleBroken "file_not_found",
    "not_a_file", "backup_damaged", "backup_newer" for one that a newer version made, "other_database" for
    one of the other kind of database.
    """
    if not source.exists():
        raise RuleBroken("file_not_found", f"{source} does not exist. Check the name.")
    if not source.is_file():
        raise RuleBroken("not_a_file", f"{source} is not a file. Name a file that backup made.")
    folder.mkdir(mode=0o700)
    with _what_is_wrong(source), _opened(source) as file, zipfile.ZipFile(file) as packed:
        contents = _contents_of(packed)
        size = _check_entries(packed, contents, source.stat().st_size)
        _check_kind(contents)
        look_for_room(contents, size)
        for name, expected in contents.files.items():
            with packed.open(name) as entry:
                if with_documents or name == contents.database:
                    found = _lay(entry, folder / name)
                else:
                    found = copy_hashed(entry)
            if found != expected:
                raise ValueError(f"{name} was changed")
        rows = check_database(folder / contents.database, from_here)
    return contents, rows


def _opened(source: Path):
    try:
        return source.open("rb")
    except PermissionError as error:
        raise EnvironmentProblem(f"{source} cannot be read: {error.strerror}.") from None


@contextmanager
def _what_is_wrong(source: Path):
    """Turn whatever goes wrong with a copy into a refusal; what the machine lacks stays what it is."""
    try:
        yield
    except (*DAMAGE, OSError) as error:
        machine = isinstance(error, OSError) and error.errno in NOT_WRITABLE
        if machine or is_full(error, settings.DATA_DIR):
            raise
        reason = " ".join(str(error).split())[:300] or type(error).__name__
        raise RuleBroken(
            "backup_damaged", f"{source} is not an intact backup: {reason}. Use another one."
        ) from error


def _contents_of(packed: zipfile.ZipFile) -> Contents:
    entry = packed.getinfo(LIST)
    _check_entry(entry)
    if entry.file_size > LARGEST_LIST:
        raise ValueError("its list of files is too long")
    given = json.loads(packed.read(entry))
    said = [given[name] for name in ("version", "made_at", "database", "files")]
    contents = Contents(*said, book=BookCounts.from_json(given.get("book")))
    words = [contents.version, contents.made_at, contents.database, *contents.files.values()]
    if not isinstance(contents.files, dict) or not all(isinstance(word, str) for word in words):
        raise ValueError("its list of files cannot be read")
    return contents


def _check_entries(packed: zipfile.ZipFile, contents: Contents, size: int) -> int:
    """Return how many bytes a copy unpacks to; raise ValueError for what does not belong in it."""
    names = packed.namelist()
    if sorted(names) != sorted([LIST, *contents.files]) or contents.database not in contents.files:
        raise ValueError("its list of files does not match its content")
    folders = {str(parent) for name in names for parent in PurePosixPath(name).parents}
    for name in contents.files:
        if not _is_ours(name, contents.database) or name in folders:
            raise ValueError(f"{name[:LONGEST_NAME]!r} does not belong in it")
        _check_entry(packed.getinfo(name))
    unpacked = sum(packed.getinfo(name).file_size for name in contents.files)
    if unpacked > max(NEVER_MIND, MOST_TIMES * size):
        raise ValueError(f"it would unpack to more than {MOST_TIMES} times its size")
    return unpacked


def _check_entry(entry: zipfile.ZipInfo) -> None:
    name, kind = entry.filename[:LONGEST_NAME], stat.S_IFMT(entry.external_attr >> 16)
    if kind not in (0, stat.S_IFREG):
        raise ValueError(f"{name!r} is not a plain file")
    if entry.flag_bits & 1:
        raise ValueError(f"{name!r} is encrypted")
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise ValueError(f"{name!r} is packed in a way that backup does not use")


def _is_ours(name: str, database: str) -> bool:
    if name in (database, *LOGOS):
        return name in (SQLITE, DUMP, FOLDER, *LOGOS)
    parts = name.split("/")
    plain = all(part.isprintable() and "\\" not in part and not part.startswith(".") for part in parts)
    short = len(name) <= LONGEST_PATH and all(0 < len(part.encode()) <= LONGEST_NAME for part in parts)
    return len(parts) > 1 and parts[0] in DOCUMENTS and plain and short


def _check_kind(contents: Contents) -> None:
    if contents.database not in (SQLITE if connection.vendor == "sqlite" else DUMP, FOLDER):
        kind = "SQLite" if contents.database == SQLITE else "PostgreSQL"
        raise RuleBroken(
            "other_database",
            f"This backup is of a {kind} database. To move it here, use export_book and import_book.",
        )


def _lay(entry, path: Path) -> str:
    """Write a file of the copy for its owner alone, and return its SHA-256."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        found = copy_hashed(entry, file)
        file.flush()
        os.fsync(file.fileno())
    return found
