"""Days as commands are given them."""

from datetime import date


def iso_date(text: str) -> date:
    """Return the day of `YYYY-MM-DD`. Raises ValueError for anything else."""
    day = date.fromisoformat(text)
    if day.isoformat() != text:
        raise ValueError(text)
    return day
