"""Lets a request wait while a copy is put in place of the book, by this server or by a command."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from practice.project.backup.restoring import finish_restore


def wait_for_restore(get_response: Callable) -> Callable:
    """Answer once the book is whole again; one whose restore was killed is brought to its end first."""

    def answer(request: HttpRequest) -> HttpResponse:
        finish_restore()
        return get_response(request)

    return answer
