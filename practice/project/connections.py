"""What the server takes from one connection: how long it may be silent, and how much it may send.

waitress reads a whole request before the program sees it, and measures only the silence between two bytes.
With that alone, idle clients would hold their places for minutes, and anybody could send a gigabyte.
"""

import copy
import re
import socket
import time
from contextlib import suppress
from dataclasses import dataclass

from django.conf import settings
from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.server import TcpWSGIServer
from waitress.utilities import RequestEntityTooLarge

from practice.project.body_limits import limit_of, why_refused
from practice.project.serving.cookies import PREFIX

MOST_CONNECTIONS = 500  # select() on Windows takes 512
OTHER_FILES = 100
LARGEST_HEAD = 64 * 1024


@dataclass(frozen=True)
class Patience:
    """How many seconds each of these may take."""

    head: float = 10  # the lines before the body, from connecting or from their first byte
    body: float = 300  # the whole body
    silence: float = 10  # without a byte, in a body
    kept: float = 60  # between two requests, or without reading the answer
    refused: float = 10  # to stop sending what was refused, and read why


class TooLarge(RequestEntityTooLarge):
    """The answer to a body that is refused unread."""

    def to_response(self, ident=None):
        headers = [("Content-Type", "text/plain; charset=utf-8"), ("Cache-Control", "no-store")]
        return f"{self.code} {self.reason}", headers, self.body.encode()


class BoundedParser(HTTPRequestParser):
    """Refuses a body that is too large: before it comes if its length is said, else as soon as it is."""

    def __init__(self, adj):
        super().__init__(adj)
        self.began = time.time()

    def received(self, data: bytes) -> int:
        consumed = super().received(data)
        if self.headers_finished:
            limit = limit_of(self.has_session())
            if max(self.content_length, self.body_bytes_received) > limit:
                self.error, self.completed = TooLarge(why_refused(limit)), True
                self.expect_continue = False
        return consumed

    def has_session(self) -> bool:
        """Whether it brings a session. Whether that is one is looked up when the body is there."""
        cookies = self.headers.get("COOKIE", "")
        name = re.escape(settings.SESSION_COOKIE_NAME)
        return bool(re.search(rf"(^|;) *({PREFIX})?{name}=\w", cookies))


class BoundedChannel(HTTPChannel):
    """A connection that is closed when it takes too long.

    After a refusal what still comes is thrown away for a while: were it closed at once, the client would
    hear of a broken connection, and not why.
    """

    parser_class = BoundedParser
    was_asked = is_refusing = False
    refused_at = 0.0

    def is_overdue(self, now: float, patience: Patience) -> bool:
        silence = now - self.last_activity
        if self.refused_at:
            return now - self.refused_at > patience.refused
        if self.requests:  # being answered; past the watermark a thread waits for the client to read
            return self.total_outbufs_len > self.adj.outbuf_high_watermark and silence > patience.kept
        request = self.request
        if request is None and self.was_asked:
            return silence > patience.kept
        began = request.began if self.was_asked else self.creation_time
        if request is None or not request.headers_finished:
            return now - began > patience.head
        return silence > patience.silence or now - began > patience.body

    def service(self) -> None:
        self.is_refusing = isinstance(self.requests[0].error, TooLarge)
        super().service()
        self.was_asked = True

    def handle_write(self) -> None:
        if not self.is_refusing or not self.close_when_flushed or self.will_close:
            super().handle_write()
            return
        self._flush_exception(self._flush_some)
        if not self.total_outbufs_len and not self.will_close:
            self.close_when_flushed, self.refused_at = False, time.time()
            with suppress(OSError):
                self.socket.shutdown(socket.SHUT_WR)

    def received(self, data: bytes) -> bool:
        return False if self.refused_at else super().received(data)


class BoundedServer(TcpWSGIServer):
    """waitress on a listening socket. Who is silent longest makes room for others when it is crowded."""

    channel_class = BoundedChannel

    def __init__(
        self, application, listener: socket.socket, patience=Patience(), most=MOST_CONNECTIONS, **options
    ):
        self.patience = patience
        adj = Adjustments(
            sockets=[listener],
            connection_limit=min(most, most_connections()),
            cleanup_interval=1,
            asyncore_use_poll=True,  # select() where there is no poll()
            max_request_header_size=LARGEST_HEAD,
            **options,
        )
        kind = (listener.family, listener.type, listener.proto, listener.getsockname())
        super().__init__(application, {}, _sock=listener, adj=adj, sockinfo=kind, bind_socket=False)
        self.https = copy.copy(adj)
        self.https.url_scheme = "https"

    def maintenance(self, now: float) -> None:
        """Close what takes too long; asked about once a second."""
        for channel in list(self.active_channels.values()):
            if channel.is_overdue(now, self.patience):
                channel.will_close = True

    def handle_accept(self) -> None:
        """Take a connection."""
        super().handle_accept()
        self.make_room()

    def take_over(self, connection: socket.socket, address: tuple[str, int]) -> None:
        """Take a connection that came by https and is already in the clear; from any thread."""
        self.trigger.pull_trigger(lambda: self._take_over(connection, address))

    def _take_over(self, connection: socket.socket, address: tuple[str, int]) -> None:
        self.channel_class(self, connection, address, self.https, map=self._map)
        self.make_room()

    def make_room(self) -> None:
        """Above three quarters of the room, close the idle connection that is silent longest."""
        if len(self.active_channels) > self.adj.connection_limit * 3 // 4:
            idle = [one for one in self.active_channels.values() if not one.requests and not one.will_close]
            if idle:
                min(idle, key=lambda one: one.last_activity).will_close = True


def most_connections() -> int:
    """Return how many connections this process may have, with files left for all else."""
    try:
        import resource
    except ImportError:
        return MOST_CONNECTIONS
    files, _ = resource.getrlimit(resource.RLIMIT_NOFILE)
    return MOST_CONNECTIONS if files == resource.RLIM_INFINITY else max(files - OTHER_FILES, OTHER_FILES)
