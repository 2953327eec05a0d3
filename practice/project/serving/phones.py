"""`start --phones`: the book on https for the phones and computers of the practice's own network.

A thread looks whether the addresses of this machine have changed or the certificate nears its end; then
there is another certificate, and no phone is paired again.
"""

import logging
import socket
import ssl
import threading
from collections.abc import Callable
from datetime import UTC, datetime

from django.conf import settings

from practice.project.exits import EnvironmentProblem
from practice.project.server import bound
from practice.project.serving.addresses import (
    FIRST_NAME,
    FIRST_PORT,
    LAST_PORT,
    MeetingPoint,
    certified_hosts,
    keep_meeting_point,
    kept_meeting_point,
    note_served,
    own_addresses,
)
from practice.project.serving.authority import server_file, tls_context
from practice.project.serving.local_name import LocalName
from practice.project.serving.tls_front import TlsFront

LOOK_SECONDS = 30
ANYWHERE = "0.0.0.0"  # over TLS alone, and to one's own network alone

log = logging.getLogger("roundbook")


def phones_listener(asked: int | None) -> socket.socket:
    """Return a socket for phones: on the port asked for, else on the one they know, else on the first free
    one from 8443.

    Raises EnvironmentProblem if there is none.
    """
    kept = kept_meeting_point()
    wanted = asked or (kept and kept.port)
    for number in [wanted] if wanted else range(FIRST_PORT, LAST_PORT + 1):
        try:
            return bound(ANYWHERE, number)
        except OSError as error:
            if wanted:
                known = "" if asked else " by which phones know this book"
                raise EnvironmentProblem(
                    f"The port {number}{known} is not available ({error.strerror}). Close the program that"
                    " uses it, or choose another with --phones-port; then pair your phones again."
                ) from None
    raise EnvironmentProblem(
        f"No port from {FIRST_PORT} to {LAST_PORT} is free. Close a program that uses one."
    )


class Phones(threading.Thread):
    """Serves phones on a listening socket until `end`. `hand_over` takes each connection to the server."""

    def __init__(self, listener: socket.socket, hand_over: Callable, clock=lambda: datetime.now(UTC)):
        super().__init__(name="phones' addresses", daemon=True)
        self.clock, self.ended = clock, threading.Event()
        kept = kept_meeting_point()
        self.wished = MeetingPoint(kept.name if kept else FIRST_NAME, listener.getsockname()[1])
        self.other_hosts = list(settings.ALLOWED_HOSTS)
        self._find_name()
        keep_meeting_point(self.wished if kept else self.point)
        self.certificate = b""
        self.front = TlsFront(listener, self._another_context(), hand_over)

    @property
    def point(self) -> MeetingPoint:
        """The name and port by which phones reach the book now."""
        return MeetingPoint(self.local_name.name or self.wished.name, self.wished.port)

    def begin(self) -> None:
        self.front.begin()
        self.start()

    def end(self) -> None:
        """Say goodbye to the network, and cut what is open."""
        self.ended.set()
        note_served(None)
        settings.ALLOWED_HOSTS[:] = self.other_hosts
        self.local_name.close()
        self.front.end()

    def run(self) -> None:
        while not self.ended.wait(LOOK_SECONDS):
            try:
                self.look()
            except Exception as error:
                log.error("phones: the certificate could not be looked after", exc_info=error)

    def look(self) -> None:
        """Follow this machine to another network, and renew the certificate where it is time."""
        if own_addresses() != self.addresses:
            self.local_name.close()
            self._find_name()
        self.front.context = self._another_context() or self.front.context

    def _find_name(self) -> None:
        self.addresses = own_addresses()
        self.local_name = LocalName(self.wished, self.addresses)
        note_served(self.point)

    def _another_context(self) -> ssl.SSLContext | None:
        """Answer to the name and addresses of now, and to nothing else.

        Return the TLS for them, None where it is in use already.
        """
        hosts = certified_hosts(self.point)
        settings.ALLOWED_HOSTS[:] = list(dict.fromkeys([*self.other_hosts, *hosts]))
        path, before = server_file(hosts, self.clock()), self.certificate
        self.certificate = path.read_bytes()
        return tls_context(path) if self.certificate != before else None
