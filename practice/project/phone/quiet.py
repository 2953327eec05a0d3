"""A page that is fetched to be kept is looked at by nobody: what waits to be said keeps waiting."""

from collections.abc import Callable

from django.contrib.messages.storage.base import BaseStorage
from django.http import HttpRequest, HttpResponse

HEADER = "Roundbook-Kept"


class NothingSaid(BaseStorage):
    """Messages of a page that nobody looks at: none are shown, and none are taken away."""

    def _get(self, *args, **kwargs):
        return [], True

    def _store(self, messages, response, *args, **kwargs):
        return []


def keep_messages(get_response: Callable) -> Callable:
    """Show no message on a page that a phone's service worker fetches. It stands behind the messages."""

    def answer(request: HttpRequest) -> HttpResponse:
        if request.method == "GET" and HEADER in request.headers:
            request._messages = NothingSaid(request)
        return get_response(request)

    return answer
