"""Sends what waits, as long as the server runs: a thread of the server's own process.

A thread, not a process: it sees at once that a page has queued something, ends with the server, and needs
nobody to look after it. It may end at any moment, in the middle of a message too: see
`billing/actions/delivering.py`. Where two servers run on one book, each message still goes out once.
"""

import logging
import threading
from time import monotonic

from django.db import connections

from billing.actions.delivering import send_waiting
from billing.actions.mailing import queued
from billing.models import Message
from practice.lib.today import now

# How often it looks by itself: for what has paused long enough, or what another process has queued.
LOOK_SECONDS = 10
# After a round in which nothing went, it looks less often, up to this.
LONGEST_SECONDS = 300

log = logging.getLogger("roundbook")


class MailWorker(threading.Thread):
    """Looks for messages until `stop` is set."""

    def __init__(self, stop: threading.Event):
        super().__init__(name="mail", daemon=True)
        self.ended = stop

    def run(self) -> None:
        pause = LOOK_SECONDS
        while not self.ended.is_set():
            queued.clear()
            pause = self.look(pause)
            self.rest(pause)

    def look(self, pause: int) -> int:
        """Send what is due; return how many seconds to wait until the next look."""
        try:
            outcome = send_waiting(now, only_due=True, stop=self.ended.is_set)
        except Exception as error:
            log.error("sending failed", exc_info=error)
            return min(pause * 2, LONGEST_SECONDS)
        finally:
            connections.close_all()
        is_stuck = outcome[Message.State.WAITING] and not outcome[Message.State.SENT]
        return min(pause * 2, LONGEST_SECONDS) if is_stuck else LOOK_SECONDS

    def rest(self, seconds: int) -> None:
        """Wait so long, or until something is queued, or until the server ends."""
        end = monotonic() + seconds
        while monotonic() < end and not self.ended.is_set():
            if queued.wait(1):
                return
