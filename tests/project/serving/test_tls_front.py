"""TLS before the server: phones are held to its bounds, whatever they send, and keep nobody else waiting."""

import contextlib
import json
import socket
import ssl
import threading
import time
from datetime import UTC, datetime

import pytest

from practice.project import body_limits
from practice.project.connections import BoundedServer, Patience
from practice.project.server import bound
from practice.project.serving import tls_front
from practice.project.serving.authority import server_file, tls_context
from practice.project.serving.cookies import PREFIX
from practice.project.serving.tls_front import TlsFront
from tests.processes import free_port
from tests.project.serving.trusting import connected, trusting

SHORT = Patience(head=1, body=30, silence=0.3, kept=0.3, refused=1)
HOSTS = ["roundbook.local", "127.0.0.1"]
SEEN = ("wsgi.url_scheme", "REMOTE_ADDR", "HTTP_X_FORWARDED_PROTO", "HTTP_X_FORWARDED_FOR")
ASKING = "GET / HTTP/1.1\r\nHost: localhost\r\n"
CLOSING = "Connection: close\r\n\r\n"


@pytest.fixture
def serve(settings, tmp_path):
    """Return a function that serves an application that answers with what it saw of a request."""
    settings.DATA_DIR = tmp_path
    with contextlib.ExitStack() as stack:

        def begin(**options):
            def application(environ, start_response):
                seen = {name: environ.get(name) for name in SEEN}
                text = json.dumps(seen | {"length": len(environ["wsgi.input"].read())}).encode()
                start_response("200 OK", [("Content-Length", str(len(text)))])
                return [text]

            waitress = BoundedServer(application, stack.enter_context(bound("127.0.0.1", 0)), **options)
            thread = threading.Thread(target=waitress.run, daemon=True)
            thread.start()
            stack.callback(thread.join, 5)
            stack.callback(waitress.pull_trigger)
            stack.callback(waitress._map.clear)
            path = server_file(HOSTS, datetime.now(UTC))
            door = bound("0.0.0.0", free_port())
            front = TlsFront(door, tls_context(path), waitress.take_over, options.get("patience", Patience()))
            front.begin()
            stack.callback(front.end)
            return Served(stack, front, door.getsockname()[1], trusting(path.with_name("authority.pem")))

        yield begin


class Served:
    """What is served, and how a phone speaks with it."""

    def __init__(self, stack, front, port, trust):
        self.stack, self.front, self.port, self.trust = stack, front, port, trust

    def plain(self, sent=b"", own="127.0.0.1"):
        client = socket.create_connection(("127.0.0.1", self.port), timeout=60, source_address=(own, 0))
        self.stack.enter_context(client).sendall(sent)
        return client

    def connect(self, sent="", own="127.0.0.1"):
        client = self.stack.enter_context(connected(self.port, self.trust, own=own))
        client.sendall(sent.encode() if isinstance(sent, str) else sent)
        return client

    def ask(self, more="", own="127.0.0.1"):
        """Send one request; return what the application saw of it."""
        return json.loads(read_all(self.connect(ASKING + more + CLOSING, own)).partition(b"\r\n\r\n")[2])


def read_all(client) -> bytes:
    """Return what comes until the server closes; fails after a minute of silence."""
    parts = []
    with contextlib.suppress(ConnectionResetError, ssl.SSLEOFError):
        while part := client.recv(65536):
            parts.append(part)
    return b"".join(parts)


def head(length, cookie=""):
    return f"POST / HTTP/1.1\r\nHost: localhost\r\n{cookie}Content-Length: {length}\r\n{CLOSING}"


def test_the_program_hears_that_it_was_https_and_from_where(serve):
    assert serve().ask(own="127.0.0.2") == {
        "wsgi.url_scheme": "https",
        "REMOTE_ADDR": "127.0.0.2",
        "HTTP_X_FORWARDED_PROTO": None,
        "HTTP_X_FORWARDED_FOR": None,
        "length": 0,
    }


def test_a_phone_cannot_pass_for_another_or_for_plain_http(serve):
    forged = "X-Forwarded-Proto: http\r\nX-Forwarded-For: 127.0.0.1\r\n"

    seen = serve().ask(forged, own="127.0.0.2")

    assert [seen[name] for name in SEEN] == ["https", "127.0.0.2", None, None]


def test_plain_http_gets_nothing(serve):
    assert read_all(serve().plain((ASKING + CLOSING).encode())) == b""


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_tls_before_1_2_gets_nothing(serve):
    served = serve()
    served.trust.minimum_version = ssl.TLSVersion.MINIMUM_SUPPORTED
    served.trust.set_ciphers("ALL:@SECLEVEL=0")
    served.trust.maximum_version = ssl.TLSVersion.TLSv1_1

    with pytest.raises((ssl.SSLError, ConnectionError)):
        served.connect()


@pytest.mark.parametrize(
    "sent",
    ["", "GET / HTTP/1.1\r\nHost: loc", head(500) + "name=", ASKING + "\r\n"],
    ids=["nothing", "half a head", "half a body", "one request and no more"],
)
def test_an_idle_phone_is_dropped(serve, sent):
    assert read_all(serve(patience=SHORT).connect(sent))[-1:] in (b"", b"}")


@pytest.mark.parametrize("sent", [b"", b"\x16\x03\x01\x02\x00\x01\x00"], ids=["nothing", "half a greeting"])
def test_who_does_not_shake_hands_is_dropped(serve, sent):
    assert read_all(serve(patience=SHORT).plain(sent)) == b""


def test_silent_and_half_heard_phones_keep_nobody_waiting(serve):
    served = serve()
    for number in range(2, 6):
        for _ in range(tls_front.MOST_OF_ONE // 2):
            served.plain(own=f"127.0.0.{number}")
            served.connect("GET / HTTP/1.1\r\nHo", own=f"127.0.0.{number}")

    assert served.ask()["wsgi.url_scheme"] == "https"


def test_one_device_does_not_get_all_the_room(serve):
    served = serve()
    for _ in range(tls_front.MOST_OF_ONE):
        served.connect()

    assert read_all(served.plain()) == b""
    assert served.ask(own="127.0.0.2")["REMOTE_ADDR"] == "127.0.0.2"


def test_together_they_leave_room_for_the_desk(serve, monkeypatch):
    monkeypatch.setattr(tls_front, "MOST", 3)
    served = serve()
    held = [served.connect(own=f"127.0.0.{number}") for number in (2, 3, 4)]

    assert read_all(served.plain()) == b""
    held[0].close()
    while served.front.open.total() > 2:
        time.sleep(0.01)
    assert served.ask(own="127.0.0.5")["REMOTE_ADDR"] == "127.0.0.5"


def test_who_is_not_in_ones_own_network_gets_nothing(serve, monkeypatch):
    monkeypatch.setattr(tls_front, "is_near", lambda address: address != "127.0.0.9")
    served = serve()

    assert read_all(served.plain(own="127.0.0.9")) == b""
    assert served.ask()["REMOTE_ADDR"] == "127.0.0.1"


@pytest.mark.parametrize(
    ("cookie", "limit"),
    [
        ("", body_limits.WITHOUT_LOGIN),
        (f"Cookie: {PREFIX}roundbook_session=abc\r\n", body_limits.LARGEST),
    ],
    ids=["without a login", "with one"],
)
def test_a_body_within_the_bounds_comes_through_and_a_larger_one_is_told_why_not(serve, cookie, limit):
    served = serve()

    taken = read_all(served.connect((head(limit, cookie)).encode() + b"x" * limit))
    refused = served.connect(head(limit + 1, cookie))
    with contextlib.suppress(OSError):  # it may be gone before all of it is sent
        refused.sendall(b"x" * (limit + 1))

    assert json.loads(taken.partition(b"\r\n\r\n")[2])["length"] == limit
    assert read_all(refused).endswith(body_limits.why_refused(limit).encode())


def test_a_large_answer_arrives_whole_on_a_connection_that_goes_on(serve):
    client = serve().connect((ASKING + "\r\n") * 200 + ASKING + CLOSING)

    assert read_all(client).count(b'"wsgi.url_scheme": "https"') == 201


def test_another_certificate_is_that_of_the_next_connection(serve):
    served = serve()
    before = served.connect()

    served.front.context = tls_context(server_file([*HOSTS, "10.0.0.7"], datetime.now(UTC)))
    after = served.connect()

    assert ("IP Address", "10.0.0.7") in after.getpeercert()["subjectAltName"]
    before.sendall((ASKING + CLOSING).encode())
    assert read_all(before).endswith(b"}")


def test_when_it_ends_nobody_is_served_any_more(serve):
    served = serve()
    client = served.connect()

    served.front.end()

    assert read_all(client) == b""
    served.front.thread.join(60)
    with pytest.raises(OSError):
        served.plain()
