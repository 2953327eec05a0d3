"""Reading environment variables: a bad value stops the command and says what was expected."""

import os


class InvalidVariable(Exception):
    """An environment variable has a value that is not allowed; the message names it."""


def env_str(name: str, default: str = "") -> str:
    return os.environ.get(name, "").strip() or default


def env_bool(name: str, default: bool = False) -> bool:
    """Return `yes` or `no` as a bool. Raises InvalidVariable for anything else."""
    value = env_str(name).lower()
    if value not in ("", "yes", "no"):
        raise InvalidVariable(f"{name}: {value!r} is not yes or no.")
    return default if not value else value == "yes"


def env_int(name: str, default: int | None, lowest: int, highest: int) -> int | None:
    """Return a whole number within bounds. Raises InvalidVariable for anything else."""
    value = env_str(name)
    if not value:
        return default
    if not (value.isascii() and value.isdigit()) or not lowest <= int(value) <= highest:
        raise InvalidVariable(f"{name}: {value!r} is not a whole number from {lowest} to {highest}.")
    return int(value)


def env_date(name: str):
    """Return a date `YYYY-MM-DD`, None where not given. Raises InvalidVariable for anything else."""
    from datetime import date

    value = env_str(name)
    if not value:
        return None
    try:
        day = date.fromisoformat(value)
    except ValueError:
        day = None
    if day is None or day.isoformat() != value:
        raise InvalidVariable(f"{name}: {value!r} is not a date such as 2026-10-14.")
    return day
