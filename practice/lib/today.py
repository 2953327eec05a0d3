"""The date of today and the time of day, which only views and commands ask for."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date, datetime

from django.conf import settings
from django.utils import timezone

_recorded_at: ContextVar[datetime | None] = ContextVar("recorded_at", default=None)


def today() -> date:
    """Return today in the practice's time zone, or the date that `ROUNDBOOK_TODAY` fixes."""
    return settings.TODAY or _moment().date()


def now() -> datetime:
    """Return this moment to the second, on the date of today."""
    moment = _moment().replace(microsecond=0)
    return moment.replace(year=today().year, month=today().month, day=today().day)


@contextmanager
def as_of(moment: datetime) -> Iterator[None]:
    """Let today and now be those of a moment: of what was recorded then and is saved only now."""
    before = _recorded_at.set(timezone.localtime(moment))
    try:
        yield
    finally:
        _recorded_at.reset(before)


def _moment() -> datetime:
    return _recorded_at.get() or timezone.localtime()
