"""What the book runs on: free space, permissions, versions, and programs beside it."""

import importlib.metadata
import os
import platform
import re
import shutil
import sqlite3
import stat
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from django.db import Error, connection

from practice.project.backup.daily import room_needed
from practice.project.backup.restoring import is_restoring
from practice.project.doctor.faults import NamedFault, some_of
from practice.project.room import free_room, in_megabytes
from practice.project.system import pdf_problem

PYTHONS = ((3, 11), (3, 13))
OLDEST_POSTGRES = 14  # what Django 5.2 asks for
OPEN_TO_OTHERS = 0o077
SECRETS = ("secret_key", "mail_password", "roundbook.sqlite3")
PINNED = re.compile(r"^([A-Za-z0-9._-]+)==([^\s;]+)", re.MULTILINE)


def versions() -> dict[str, str]:
    """Return the versions of what the book runs on, by name."""
    return {
        "Roundbook": settings.VERSION,
        "Python": platform.python_version(),
        "Django": importlib.metadata.version("django"),
        "database": database_version(),
        "system": platform.platform(),
    }


def database_version() -> str:
    if connection.vendor == "sqlite":
        return f"SQLite {sqlite3.sqlite_version}"
    version = postgres_version()
    return f"PostgreSQL {'.'.join(map(str, version))}" if version else "PostgreSQL, which does not answer"


def postgres_version() -> tuple[int, int] | None:
    """Return the server's version; None where it does not answer, which is a fault of its own."""
    try:
        return divmod(connection.pg_version, 10_000)
    except Error:
        return None


def look_at_room() -> Iterator[NamedFault]:
    """Find that the next backup may not fit."""
    needed, free = room_needed(), free_room(settings.DATA_DIR)
    if free < needed:
        yield NamedFault(
            "little_room",
            f"The disk of {settings.DATA_DIR} has {in_megabytes(free)} left, and a backup may take"
            f" {in_megabytes(needed)}.",
            "Empty the trash, or move large files to another disk.",
            of_machine=True,
        )


def look_at_permissions() -> Iterator[NamedFault]:
    """Find files that others on this machine can read, and those that cannot be written."""
    if os.name == "nt":  # a folder of one's own is private there by itself
        return
    folder = settings.DATA_DIR
    if folder.stat().st_mode & OPEN_TO_OTHERS:
        yield NamedFault(
            "folder_open", f"Others on this computer can look into {folder}.", f"Type: chmod 700 '{folder}'"
        )
    secret = [path for name in SECRETS if (path := folder / name).exists()]
    if others := [path for path in secret if path.stat().st_mode & OPEN_TO_OTHERS]:
        names = " ".join(f"'{path}'" for path in others)
        yield NamedFault(
            "files_open",
            f"Others may read {some_of(path.name for path in others)}.",
            f"Type: chmod 600 {names}",
        )
    if fixed := [path for path in _ours(folder) if not os.access(path, os.W_OK)]:
        yield NamedFault(
            "not_writable",
            f"These cannot be written to: {some_of(path.relative_to(folder) for path in fixed)}.",
            f"Roundbook was once run by another user. As root, type: chown -R {os.getuid()} '{folder}'",
        )


def _ours(folder: Path) -> Iterator[Path]:
    """Give what in the data folder is written to, two levels deep."""
    for pattern in ("*", "*/*"):
        for path in sorted(folder.glob(pattern)):
            if stat.S_IFMT(path.lstat().st_mode) in (stat.S_IFDIR, stat.S_IFREG):
                yield path


def look_at_versions() -> Iterator[NamedFault]:
    """Find versions that are not those that the program was made for."""
    now = sys.version_info[:2]
    if not PYTHONS[0] <= now <= PYTHONS[1]:
        yield NamedFault(
            "python_version",
            f"This is Python {platform.python_version()}.",
            "Use Python 3.11, 3.12 or 3.13.",
            of_machine=True,
        )
    if other := other_libraries((settings.BASE_DIR / "requirements.txt").read_text("utf-8")):
        yield NamedFault(
            "libraries_differ",
            f"These libraries are not the versions that Roundbook was made with: {some_of(other)}.",
            f"Delete the folder {settings.BASE_DIR / '.venv'}: the next command makes it again.",
            of_machine=True,
        )
    if connection.vendor != "sqlite":
        yield from _look_at_postgres()


def other_libraries(requirements: str) -> list[str]:
    """Return what is installed in another version than any that the requirements name."""
    pinned = defaultdict(set)
    for name, version in PINNED.findall(requirements):
        pinned[name].add(version)
    other = []
    for name, wanted in sorted(pinned.items()):
        try:
            found = importlib.metadata.version(name)
        except importlib.metadata.PackageNotFoundError:  # for another system, or it would not run at all
            continue
        if found not in wanted:
            other.append(f"{name} {found} (instead of {' or '.join(sorted(wanted))})")
    return other


def _look_at_postgres() -> Iterator[NamedFault]:
    if (version := postgres_version()) and version[0] < OLDEST_POSTGRES:
        yield NamedFault(
            "postgres_version",
            f"The database is {database_version()}.",
            f"Use PostgreSQL {OLDEST_POSTGRES} or later.",
            of_machine=True,
        )
    if missing := [name for name in ("pg_dump", "pg_restore", "psql") if shutil.which(name) is None]:
        yield NamedFault(
            "no_postgres_programs",
            f"Backups need {some_of(missing)}, which this machine does not have.",
            "Install PostgreSQL's client programs. On Debian: sudo apt-get install postgresql-client",
            of_machine=True,
        )


def look_at_pdfs() -> Iterator[NamedFault]:
    """Find that PDFs cannot be made."""
    if problem := pdf_problem():
        what, _, command = problem.partition(" To install it: ")
        yield NamedFault("no_pdf", what, f"To install it: {command}", of_machine=True)


def look_for_unfinished() -> Iterator[NamedFault]:
    """Find a restore that ended in the middle."""
    if is_restoring():
        yield NamedFault(
            "restore_unfinished",
            "A restore was interrupted.",
            "Run any other command, such as `send`: it finishes the restore or undoes it.",
        )
