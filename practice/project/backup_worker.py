"""Makes the copy of the day as long as the server runs: a thread of the server's own process.

It begins once somebody who is logged in has opened a page that day: no page waits for it, and a book that
nobody uses gets no copies that are all the same. Where two servers run on one book, one of them makes it.
"""

import logging
import threading
from collections.abc import Callable
from datetime import date

from django.db import connections
from django.http import HttpRequest, HttpResponse

from practice.lib.today import now, today
from practice.project.backup.daily import back_up_today, is_due

LOOK_SECONDS = 10
# After a failure: until then somebody may have made room.
AGAIN_SECONDS = 600

log = logging.getLogger("roundbook")
_used_on: date | None = None


class FirstUse:
    """The middleware that notes on which day a page was last opened. It stands behind the login's."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view, args, kwargs) -> None:
        global _used_on
        if getattr(view, "login_required", True):
            _used_on = today()


class BackupWorker(threading.Thread):
    """Looks whether a copy is due until `stop` is set."""

    def __init__(self, stop: threading.Event):
        super().__init__(name="backup", daemon=True)
        self.ended = stop

    def run(self) -> None:
        while not self.ended.wait(self.look()):
            pass

    def look(self) -> int:
        """Make what is due; return how many seconds to wait until the next look."""
        if _used_on != today():
            return LOOK_SECONDS
        try:
            if is_due(today()):
                back_up_today(now())
        except Exception as error:
            log.error("the backup of the day failed", exc_info=error)
            return AGAIN_SECONDS
        finally:
            connections.close_all()
        return LOOK_SECONDS
