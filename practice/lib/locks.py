"""Locks between processes, held on a file. Standard library only."""

from __future__ import annotations  # an older Python must get as far as being refused

import contextlib
import os
from pathlib import Path
from typing import IO


@contextlib.contextmanager
def one_at_a_time(path: Path):
    """Hold the lock file `path` meanwhile; another process that wants it waits. Yields the open file."""
    with open(path, "w") as lock:
        if os.name == "nt":
            while not try_lock(lock):
                pass
        else:
            import fcntl

            fcntl.flock(lock, fcntl.LOCK_EX)
        yield lock


def try_lock(file: IO) -> bool:
    """Lock an open file until it is closed, if nobody else has. Windows tries for ten seconds."""
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(file.fileno(), msvcrt.LK_LOCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
