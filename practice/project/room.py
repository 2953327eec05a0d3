"""Free room on the disk: how to tell that there is none, and what to say then."""

from __future__ import annotations  # an older Python must get as far as being refused

import errno
import shutil
from pathlib import Path

# EFBIG: a disk, or a limit of the system, that takes no file of that size.
FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
# With less than this, SQLite fails in ways that do not name the reason.
LEAST = 1_000_000
MEGABYTE = 1_000_000


def is_full(error: BaseException, folder: Path) -> bool:
    """Whether an error, or what caused it, is that the disk is full; `folder` is the data folder."""
    seen: list[BaseException] = []
    while error is not None and error not in seen:
        if isinstance(error, OSError) and error.errno in FULL:
            return True
        if getattr(error, "sqlstate", None) == "53100":  # PostgreSQL's disk_full
            return True
        name = getattr(error, "sqlite_errorname", None) or ""
        if name == "SQLITE_FULL":
            return True
        if name.startswith(("SQLITE_IOERR", "SQLITE_CANTOPEN")) and free_room(folder) < LEAST:
            return True
        seen.append(error)
        error = error.__cause__ or error.__context__
    return False


def free_room(folder: Path) -> int:
    """Return the free bytes of the disk that `folder` is on, as far as this user may take them."""
    return shutil.disk_usage(folder).free


def in_megabytes(size: int) -> str:
    """Return a size in words, rounded up: `12 MB`."""
    return f"{-(-size // MEGABYTE):,} MB"
