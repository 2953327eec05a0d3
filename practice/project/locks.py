"""A lock between processes, held on a file. Standard library only."""

from __future__ import annotations  # an older Python must get as far as being refused

import contextlib
import os
from pathlib import Path


@contextlib.contextmanager
def one_at_a_time(path: Path):
    """Hold the lock file `path` meanwhile; another process that wants it waits. Yields the open file."""
    with open(path, "w") as lock:
        if os.name == "nt":
            import msvcrt

            while True:
                try:
                    msvcrt.locking(lock.fileno(), msvcrt.LK_LOCK, 1)  # gives up after ten seconds
                    break
                except OSError:
                    continue
        else:
            import fcntl

            fcntl.flock(lock, fcntl.LOCK_EX)
        yield lock
