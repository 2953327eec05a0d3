"""How a command ends: its exit codes, and what it prints for each kind of error.

Importing this needs the standard library only, as it happens before anything is installed.
"""

from __future__ import annotations  # an older Python must get as far as being refused

import errno
import logging

from practice.project.room import is_full
from practice.project.system import say

DONE = 0
UNEXPECTED = 1  # details in the log
REFUSED = 2  # bad input or a broken rule; nothing was changed
LACKING = 3  # the machine lacks something
INTERRUPTED = 130
NOT_WRITABLE = {errno.EACCES, errno.EPERM, errno.EROFS}
NO_SUCH_NAME = {errno.ENAMETOOLONG, errno.ELOOP, errno.ENOTDIR}


class EnvironmentProblem(Exception):
    """The machine lacks what a command needs; the message says what, and what to do."""


def exit_code_of(error: Exception, arguments: list[str]) -> int:
    """Print what went wrong in one line and return the exit code; details of the unexpected go to the log."""
    from django.conf import settings
    from django.core.management import CommandError
    from django.core.management.base import SystemCheckError

    from practice.lib.errors import RuleBroken

    foreseen = {RuleBroken: REFUSED, SystemCheckError: UNEXPECTED, EnvironmentProblem: LACKING}
    for kind, code in foreseen.items():
        if isinstance(error, kind):
            say(str(error))
            return code
    if isinstance(error, CommandError):
        say(str(error))
        return REFUSED if error.returncode == UNEXPECTED else error.returncode  # Django's default is 1
    logging.getLogger("roundbook").error("unexpected, in %s", arguments[1:], exc_info=error)
    if is_full(error, settings.DATA_DIR):
        say(f"The disk is full: {_reason(error)}. Free some space, then run the command again.")
        return LACKING
    if isinstance(error, OSError) and error.errno in NO_SUCH_NAME:
        say(f"{error.filename} cannot be used: {error.strerror}. Choose another name.")
        return REFUSED
    if _database_fails(error):
        say(f"The database is not available: {' '.join(str(error).split())}")
        return LACKING
    if isinstance(error, OSError) and error.errno in NOT_WRITABLE:
        say(f"{error.filename or 'The data folder'} is not writable: {error.strerror}.")
        return LACKING
    say(f"Something went wrong: {' '.join(str(error).split())}. Details: {settings.LOG_FILE}")
    return UNEXPECTED


def _reason(error: Exception) -> str:
    """Return the first line of an error, without the file that it may name."""
    said = getattr(error, "strerror", None) or str(error)
    return (said.strip().splitlines() or [type(error).__name__])[0]


def _database_fails(error: Exception) -> bool:
    """Whether the database itself fails (gone, full, read-only, in use), not what it was asked."""
    import sqlite3

    from django.db import Error, InterfaceError, OperationalError

    if not isinstance(error, Error | sqlite3.Error):
        return False
    name = getattr(error.__cause__ or error, "sqlite_errorname", None)
    if name is not None:
        return name not in ("SQLITE_ERROR", "SQLITE_MISUSE") and not name.startswith("SQLITE_CONSTRAINT")
    return isinstance(error, OperationalError | InterfaceError)
