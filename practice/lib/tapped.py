"""The moment a form was sent: as the phone's clock had it, where it waited there for a signal."""

from datetime import datetime

from django.http import HttpRequest
from django.utils import timezone

from practice.lib.today import now


def tapped_at(request: HttpRequest) -> datetime:
    """Return that moment: now, unless the form was recorded without signal (practice/project/phone/)."""
    return timezone.localtime(getattr(request, "tapped_at", None) or now())
