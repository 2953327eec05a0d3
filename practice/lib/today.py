"""The date of today, which only views and commands ask for."""

from datetime import date

from django.conf import settings
from django.utils import timezone


def today() -> date:
    """Return today in the practice's time zone, or the date that `ROUNDBOOK_TODAY` fixes."""
    return settings.TODAY or timezone.localdate()
