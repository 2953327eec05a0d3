"""The date of today and the time of day, which only views and commands ask for."""

from datetime import date, datetime

from django.conf import settings
from django.utils import timezone


def today() -> date:
    """Return today in the practice's time zone, or the date that `ROUNDBOOK_TODAY` fixes."""
    return settings.TODAY or timezone.localdate()


def now() -> datetime:
    """Return this moment to the second, on the date of today."""
    moment = timezone.localtime().replace(microsecond=0)
    return moment.replace(year=today().year, month=today().month, day=today().day)
