"""The data folder: everything that is not code, open to its owner alone."""

import os
import secrets
from pathlib import Path
from typing import NoReturn
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from practice.lib.kept_files import keep_file
from practice.project.env import InvalidVariable
from practice.project.exits import EnvironmentProblem

SHORTEST_KEY = 32


def data_folder(path: Path) -> Path:
    """Return the data folder, created with mode 0700 if it does not exist.

    Raises OSError if it cannot be created or written to.
    """
    path = path.expanduser().resolve()
    if path.exists() and not path.is_dir():
        raise NotADirectoryError(f"{path} is not a folder")
    try:
        if not path.exists():
            path.mkdir(mode=0o700, parents=True)
        (path / "logs").mkdir(mode=0o700, exist_ok=True)
    except OSError as error:
        raise OSError(f"{error.filename}: {error.strerror}") from None
    if not os.access(path, os.W_OK | os.X_OK):
        raise PermissionError(f"{path} is not writable")
    return path


def secret_key(folder: Path) -> str:
    """Return the secret key, created at the first start; two first starts at once get the same key.

    Raises EnvironmentProblem if there is one that is empty, cut off or unreadable.
    """
    path = folder / "secret_key"
    if not os.path.lexists(path):
        keep_file(path, secrets.token_urlsafe(64).encode(), folder)
    try:
        key = path.read_text("ascii").strip()
    except UnicodeDecodeError:
        _refuse_key(path, "not text")
    except OSError as error:
        _refuse_key(path, f"unreadable ({error.strerror})", "Make it readable, or delete it")
    if len(key) < SHORTEST_KEY:
        _refuse_key(path, "cut off" if key else "empty")
    return key


def _refuse_key(path: Path, why: str, remedy: str = "Delete it") -> NoReturn:
    raise EnvironmentProblem(
        f"The secret key {path} is {why}. {remedy}: the next start makes a new one, and everybody has to log"
        " in again."
    ) from None


def time_zone(asked: str) -> str:
    """Return the name of the time zone: the one asked for, else the machine's, else UTC.

    Raises InvalidVariable for an unknown name.
    """
    if asked and not _is_zone(asked):
        raise InvalidVariable(f"ROUNDBOOK_TIMEZONE: {asked!r} is not a time zone such as Europe/Berlin.")
    return next(filter(_is_zone, [asked, *_zones_of_machine()]), "UTC")


def _zones_of_machine():
    yield os.environ.get("TZ", "").lstrip(":")
    link, named = Path("/etc/localtime"), Path("/etc/timezone")
    if link.is_symlink():
        yield str(link.resolve()).partition("zoneinfo/")[2]
    if named.is_file():
        yield named.read_text(errors="replace").strip()


def _is_zone(name: str) -> bool:
    try:
        return bool(name) and bool(ZoneInfo(name))
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
