"""The data folder: everything that is not code, open to its owner alone."""

import os
import secrets
from pathlib import Path


def data_folder(path: Path) -> Path:
    """Return the data folder, made 0700 with what belongs in it where it is missing.

    Raises OSError where it cannot be made or written to.
    """
    path = path.expanduser().resolve()
    if not path.exists():
        path.mkdir(mode=0o700, parents=True)
        path.chmod(0o700)
    (path / "logs").mkdir(mode=0o700, exist_ok=True)
    if not os.access(path, os.W_OK | os.X_OK):
        raise PermissionError(f"{path} cannot be written to")
    return path


def secret_key(folder: Path) -> str:
    """Return the secret key, made at the first start. Two first starts at once end with the same key."""
    path = folder / "secret_key"
    if not path.exists():
        draft = folder / f".secret_key.{os.getpid()}"
        with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
            file.write(secrets.token_urlsafe(64))
        try:
            os.link(draft, path)
        except FileExistsError:
            pass
        except OSError:  # a file system without hard links
            draft.replace(path)
        draft.unlink(missing_ok=True)
    return path.read_text().strip()


def time_zone(asked: str) -> str:
    """Return the name of the time zone: the one asked for, else the machine's, else UTC.

    Raises BadVariable for a name that is none.
    """
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    from practice.project.env import BadVariable

    link = Path("/etc/localtime")
    machine = str(link.resolve()).partition("zoneinfo/")[2] if link.is_symlink() else ""
    for name in (asked, os.environ.get("TZ", "").lstrip(":"), machine):
        try:
            if name:
                return ZoneInfo(name).key
        except (ZoneInfoNotFoundError, ValueError, OSError):
            if name == asked:
                raise BadVariable(
                    f"ROUNDBOOK_TIMEZONE: {name!r} is not a time zone such as Europe/Berlin."
                ) from None
    return "UTC"
