"""How much one request may send: 12 MB, and 64 kB without a login."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

LARGEST = 12_000_000
WITHOUT_LOGIN = 64_000


def limit_of(logged_in: bool) -> int:
    """Return how many bytes a request may send after its head."""
    return LARGEST if logged_in else WITHOUT_LOGIN


def why_refused(limit: int) -> str:
    """Return what a request that sends more is told."""
    if limit == WITHOUT_LOGIN:
        return "This is more than 64 kB, the most that can be sent without logging in. Log in first."
    return "This is more than 12 MB, the most that can be sent at once. Go back and choose a smaller file."


def bound_bodies(get_response: Callable) -> Callable:
    """Answer 413 to a request that sends too much, before anything reads it.

    The server itself refuses most of them before they come (connections.py). What is left is a session's
    cookie that opens nothing.
    """

    def answer(request: HttpRequest) -> HttpResponse:
        length = request.META.get("CONTENT_LENGTH") or "0"
        size = int(length) if length.isdecimal() else 0
        if size > WITHOUT_LOGIN and size > (limit := limit_of(request.user.is_authenticated)):
            return render(request, "413.html", {"why": why_refused(limit)}, status=413)
        return get_response(request)

    return answer
