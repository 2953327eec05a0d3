"""Backing up the book and its documents to one verified file, and restoring them.

The file is a ZIP: the database (a copy of the SQLite file, or what `pg_dump` writes), the documents of
the data folder, and a list of all of them with their SHA-256. The secret key is left out, so that the
copy alone lets nobody forge a login.
"""

import hashlib
import json
import os
import shutil
import sqlite3
import subprocess
import tempfile
import zipfile
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO

from django.conf import settings
from django.core.cache import caches
from django.db import connection, connections

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.project.exits import EnvironmentProblem

SQLITE, DUMP, LIST = "roundbook.sqlite3", "roundbook.dump", "contents.json"
# What in the data folder is a document; the rest is made again, or must not leave the machine.
DOCUMENTS = ("invoices", "receipts")
LOGOS = ("logo.png", "logo.jpg")


@dataclass(frozen=True)
class Contents:
    """What a copy holds: the version that made it, its kind of database, and each file's SHA-256."""

    version: str
    made_at: str
    database: str
    files: dict[str, str]


def make_backup(target: Path) -> Contents:
    """Write a copy of the book and its documents, and verify it before it gets its name.

    Raises RuleBroken("file_exists") if there is such a file, EnvironmentProblem if pg_dump is missing.
    """
    if target.exists():
        raise RuleBroken("file_exists", f"{target} already exists. Choose another name.")
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
    os.close(handle)
    draft = Path(name)
    try:
        with tempfile.TemporaryDirectory(dir=settings.DATA_DIR) as folder:
            database = _copy_of_database(Path(folder))
            _pack(draft, database)
        contents = check_backup(draft)
        os.replace(draft, target)
    finally:
        draft.unlink(missing_ok=True)
    return contents


def _pack(draft: Path, database: Path) -> None:
    files = {database.name: database} | {
        path.relative_to(settings.DATA_DIR).as_posix(): path for path in documents()
    }
    hashes = {name: _sha256(path) for name, path in files.items()}
    contents = {
        "version": settings.VERSION,
        "made_at": datetime.now().astimezone().isoformat(timespec="seconds"),
        "database": database.name,
        "files": hashes,
    }
    with zipfile.ZipFile(draft, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr(LIST, json.dumps(contents, indent=1))
        for name, path in files.items():
            packed.write(path, name)


def documents() -> list[Path]:
    """Return the documents of the data folder."""
    paths = [settings.DATA_DIR / name for name in LOGOS]
    for folder in DOCUMENTS:
        paths += sorted((settings.DATA_DIR / folder).rglob("*"))
    return [path for path in paths if path.is_file() and not path.name.startswith(".")]


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return _hash_of(file)


def _hash_of(file: IO[bytes]) -> str:
    digest = hashlib.sha256()
    while piece := file.read(1 << 20):
        digest.update(piece)
    return digest.hexdigest()


def _copy_of_database(folder: Path) -> Path:
    """Return a consistent copy of the database, even while others write to it."""
    if connection.vendor == "sqlite":
        copy = folder / SQLITE
        with (
            closing(sqlite3.connect(settings.DATABASES["default"]["NAME"], timeout=20)) as book,
            closing(sqlite3.connect(copy)) as target,
        ):
            book.backup(target)
            target.execute("PRAGMA journal_mode=DELETE")
        return copy
    copy = folder / DUMP
    _postgres("pg_dump", "--format=custom", "--no-owner", "--no-privileges", f"--file={copy}")
    return copy


def _postgres(program: str, *arguments: str) -> None:
    """Run one of PostgreSQL's own programs on the book's database."""
    if shutil.which(program) is None:
        raise EnvironmentProblem(f"{program} is missing. On Debian: sudo apt-get install postgresql-client")
    given = connection.settings_dict
    parts = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    environment = {name: str(given[key]) for name, key in parts.items() if given.get(key)}
    done = subprocess.run(
        [program, f"--dbname={given['NAME']}", *arguments],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
    )
    if done.returncode:
        raise RuntimeError(f"{program}: {done.stderr.strip()}")


def check_backup(source: Path) -> Contents:
    """Return what a copy holds, after checking each file and the database.

    Raises RuleBroken("file_not_found"), and RuleBroken("backup_damaged") for a file that is no whole copy.
    """
    try:
        with zipfile.ZipFile(source) as packed:
            contents = Contents(**json.loads(packed.read(LIST)))
            if set(packed.namelist()) != {LIST, *contents.files} or contents.database not in contents.files:
                raise ValueError("its list of files does not match its content")
            for name, expected in contents.files.items():
                if not _is_ours(name, contents.database):
                    raise ValueError(f"{name} does not belong in it")
                with packed.open(name) as file:
                    if _hash_of(file) != expected:
                        raise ValueError(f"{name} was changed")
            if contents.database == SQLITE:
                _check_sqlite(packed)
    except FileNotFoundError:
        raise RuleBroken("file_not_found", f"{source} does not exist. Check the name.") from None
    except (zipfile.BadZipFile, KeyError, TypeError, ValueError, OSError, EOFError, sqlite3.Error) as error:
        raise RuleBroken(
            "backup_damaged", f"{source} is not an intact backup: {error}. Use another one."
        ) from error
    return contents


def _is_ours(name: str, database: str) -> bool:
    parts = Path(name).parts
    if name in (database, *LOGOS):
        return name in (SQLITE, DUMP, *LOGOS)
    return len(parts) > 1 and parts[0] in DOCUMENTS and ".." not in parts


def _check_sqlite(packed: zipfile.ZipFile) -> None:
    with tempfile.TemporaryDirectory(dir=settings.DATA_DIR) as folder:
        copy = packed.extract(SQLITE, folder)
        with closing(sqlite3.connect(copy)) as book:
            [[answer]] = book.execute("PRAGMA integrity_check(1)").fetchall()
            if answer != "ok" or book.execute("PRAGMA foreign_key_check").fetchone():
                raise ValueError("its database is damaged")
            book.execute("SELECT COUNT(*) FROM practice_profile")


def has_book() -> bool:
    """Whether there is anything to lose: a practice or a login."""
    from django.contrib.auth import get_user_model

    return Profile.objects.exists() or get_user_model().objects.exists()


def restore_backup(source: Path, *, replace: bool) -> Path | None:
    """Replace the book with a copy; return where the book that was here is backed up, if there was one.

    Raises RuleBroken, and changes nothing: "file_not_found" and "backup_damaged" as in `check_backup`,
    "other_database" for a copy of the other kind of database, "book_not_empty" if there is a book and
    `replace` was not asked for.
    """
    contents = check_backup(source)
    expected = SQLITE if connection.vendor == "sqlite" else DUMP
    if contents.database != expected:
        kind = "SQLite" if contents.database == SQLITE else "PostgreSQL"
        raise RuleBroken(
            "other_database",
            f"This backup is of a {kind} database. To move it here, use export_book and import_book.",
        )
    backed_up = None
    if has_book():
        if not replace:
            raise RuleBroken(
                "book_not_empty",
                "There is already a book here. Add --replace to back it up and then replace it.",
            )
        backed_up = settings.DATA_DIR / "backups" / f"before-restore-{datetime.now():%Y%m%d-%H%M%S-%f}.zip"
        backed_up.parent.mkdir(mode=0o700, exist_ok=True)
        make_backup(backed_up)
    with tempfile.TemporaryDirectory(dir=settings.DATA_DIR) as folder, zipfile.ZipFile(source) as packed:
        packed.extractall(folder)
        _put_back(Path(folder), contents)
    # What was saved after the copy was made is not in this book, and may be sent again.
    caches["sent_forms"].clear()
    return backed_up


def _put_back(folder: Path, contents: Contents) -> None:
    connections.close_all()
    database = folder / contents.database
    if contents.database == SQLITE:
        # Page by page into the existing file: a process that has it open sees either book, never a mixture.
        with (
            closing(sqlite3.connect(database)) as copy,
            closing(sqlite3.connect(settings.DATABASES["default"]["NAME"], timeout=20)) as book,
        ):
            copy.backup(book)
    else:
        _postgres(
            "pg_restore",
            "--clean",
            "--if-exists",
            "--no-owner",
            "--single-transaction",
            "--exit-on-error",
            str(database),
        )
    for path in documents():
        path.unlink()
    for name in contents.files:
        if name != contents.database:
            target = settings.DATA_DIR / name
            target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            shutil.copyfile(folder / name, target)
