"""A verified copy of book and documents in one file, and back.

The file is a ZIP: the database (a copy of the SQLite file, or what `pg_dump` writes), the documents of
the data folder, and a list of all of them with their SHA-256. The secret key stays behind: whoever has
the copy cannot make logins of their own with it.
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
from django.db import connection, connections

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.project.exits import EnvironmentProblem

SQLITE, DUMP, LIST = "roundbook.sqlite3", "roundbook.dump", "contents.json"
# What in the data folder is a document; the rest is made anew, or is nobody else's business.
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
    """Write a copy of book and documents, read it back and compare; then it takes its name.

    Raises RuleBroken where a file of that name is there, MachineLacks where pg_dump is missing.
    """
    if target.exists():
        raise RuleBroken(f"{target} is there already. Name a new file.")
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
    found = [settings.DATA_DIR / name for name in LOGOS]
    for folder in DOCUMENTS:
        found += sorted((settings.DATA_DIR / folder).rglob("*"))
    return [path for path in found if path.is_file() and not path.name.startswith(".")]


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return _hash_of(file)


def _hash_of(file: IO[bytes]) -> str:
    digest = hashlib.sha256()
    while piece := file.read(1 << 20):
        digest.update(piece)
    return digest.hexdigest()


def _copy_of_database(folder: Path) -> Path:
    """Return a copy of the database as it is at one moment, while others go on writing."""
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
    """Return what a copy holds, once each file was read and compared, and the database looked through.

    Raises RuleBroken for a file that is no copy, or no longer whole.
    """
    try:
        with zipfile.ZipFile(source) as packed:
            contents = Contents(**json.loads(packed.read(LIST)))
            if set(packed.namelist()) != {LIST, *contents.files} or contents.database not in contents.files:
                raise ValueError("its list names other files than it holds")
            for name, expected in contents.files.items():
                if not _is_ours(name, contents.database):
                    raise ValueError(f"{name} does not belong in it")
                with packed.open(name) as file:
                    if _hash_of(file) != expected:
                        raise ValueError(f"{name} is not what was written")
            if contents.database == SQLITE:
                _check_sqlite(packed)
    except FileNotFoundError:
        raise RuleBroken(f"There is no file {source}.") from None
    except (zipfile.BadZipFile, KeyError, TypeError, ValueError, OSError, EOFError, sqlite3.Error) as error:
        raise RuleBroken(f"{source} is no whole copy of a book: {error}.") from error
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
    """Whether there is anything to lose: a practice, or a login."""
    from django.contrib.auth import get_user_model

    return Profile.objects.exists() or get_user_model().objects.exists()


def restore_backup(source: Path, *, replace: bool) -> Path | None:
    """Put a copy in the place of the book; return where the book that was there is kept, if there was one.

    Raises RuleBroken for a copy that is not whole, one of the other kind of database, and where there is
    a book and `replace` was not asked for; then nothing is changed.
    """
    contents = check_backup(source)
    expected = SQLITE if connection.vendor == "sqlite" else DUMP
    if contents.database != expected:
        kind = "SQLite" if contents.database == SQLITE else "PostgreSQL"
        raise RuleBroken(
            f"This copy is of a book in {kind}. To move between the two, use export_book and import_book."
        )
    kept = None
    if has_book():
        if not replace:
            raise RuleBroken(
                "There is a book here already. With --replace it is backed up first, then replaced."
            )
        kept = settings.DATA_DIR / "backups" / f"before-restore-{datetime.now():%Y%m%d-%H%M%S-%f}.zip"
        kept.parent.mkdir(mode=0o700, exist_ok=True)
        make_backup(kept)
    with tempfile.TemporaryDirectory(dir=settings.DATA_DIR) as folder, zipfile.ZipFile(source) as packed:
        packed.extractall(folder)
        _put_back(Path(folder), contents)
    return kept


def _put_back(folder: Path, contents: Contents) -> None:
    connections.close_all()
    database = folder / contents.database
    if contents.database == SQLITE:
        # Page by page into the file that is there: whoever has it open sees the one book or the other.
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
