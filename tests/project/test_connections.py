"""Idle and slow connections keep nobody else waiting, and too large a body is refused before it is read."""

import contextlib
import socket
import threading
import time
from http import HTTPStatus

import pytest
from django.conf import settings

from practice.project import body_limits
from practice.project.connections import BoundedServer, Patience
from practice.project.server import listen
from tests.processes import free_port

SHORT = Patience(head=0.2, body=30, silence=0.2, kept=0.2)
# A busy machine, too, sends a byte within this time.
STEADY = Patience(head=0.2, body=30, silence=1)
COOKIE = f"Cookie: sun=yes; {settings.SESSION_COOKIE_NAME}=abc123\r\n"


@pytest.fixture
def serve():
    """Return a function that serves an application that answers with the length of what it got."""
    with contextlib.ExitStack() as stack:

        def begin(**options):
            got = []

            def application(environ, start_response):
                got.append(len(environ["wsgi.input"].read()))
                start_response("200 OK", [("Content-Type", "text/plain"), ("Content-Length", "2")])
                return [b"ok"]

            listener = stack.enter_context(listen(free_port()))
            server = BoundedServer(application, listener, threads=2, **options)
            thread = threading.Thread(target=server.run, daemon=True)
            thread.start()
            stack.callback(thread.join, 5)
            stack.callback(server.pull_trigger)
            stack.callback(server._map.clear)  # its loop ends with its last socket

            def connect(sent=b""):
                client = stack.enter_context(socket.create_connection(listener.getsockname(), timeout=60))
                client.sendall(sent.encode() if isinstance(sent, str) else sent)
                return client

            connect.got = got
            return connect

        yield begin


def read_all(client: socket.socket) -> bytes:
    """Return what comes until the server closes; fails after a minute of silence."""
    parts = []
    with contextlib.suppress(ConnectionResetError):
        while part := client.recv(65536):
            parts.append(part)
    return b"".join(parts)


def ask(connect) -> bytes:
    client = connect("GET / HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
    return read_all(client)


def head(length=None, cookie="", more=""):
    size = "Transfer-Encoding: chunked" if length is None else f"Content-Length: {length}"
    return f"POST / HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n{cookie}{more}{size}\r\n\r\n"


def test_three_hundred_idle_connections_keep_nobody_waiting(serve):
    connect = serve()
    for _ in range(150):
        connect()
        connect("GET / HTTP/1.1\r\nHost: loc")

    assert ask(connect).endswith(b"ok")


def test_who_is_silent_longest_makes_room_when_it_is_crowded(serve):
    connect = serve(most=20)
    idle = [connect() for _ in range(30)]

    assert ask(connect).endswith(b"ok")
    assert idle[0].recv(1) == b""


@pytest.mark.parametrize(
    "sent",
    [
        "",
        "GET / HTTP/1.1\r\nHost: loc",
        head(500) + "name=",
        head() + "5\r\nname",
        "GET / HTTP/1.1\r\nHost: localhost\r\n\r\n",
    ],
    ids=["nothing", "half a head", "half a body", "half a chunk", "one request and no more"],
)
def test_an_idle_connection_is_dropped(serve, sent):
    assert read_all(serve(patience=SHORT)(sent))[-2:] in (b"", b"ok")


def test_a_head_that_drips_is_dropped_all_the_same(serve):
    client = serve(patience=SHORT)("GET / HTTP/1.1\r\n")

    with pytest.raises(ConnectionError):
        for _ in range(400):
            time.sleep(0.05)
            client.sendall(b"A")


def test_a_slow_body_may_take_its_time(serve):
    connect = serve(patience=STEADY)
    client = connect(head(30))
    for _ in range(15):
        time.sleep(0.1)
        client.sendall(b"xx")

    assert read_all(client).endswith(b"ok")
    assert connect.got == [30]


TOO_MUCH = body_limits.WITHOUT_LOGIN + 1
CHUNK = f"{TOO_MUCH:x}\r\n{'x' * TOO_MUCH}"


@pytest.mark.parametrize(
    ("sent", "limit"),
    [
        (head(body_limits.LARGEST + 1, COOKIE), body_limits.LARGEST),
        (head(10**10, COOKIE), body_limits.LARGEST),
        (head(10**10), body_limits.WITHOUT_LOGIN),
        (head(TOO_MUCH), body_limits.WITHOUT_LOGIN),
        (head(TOO_MUCH, "Cookie: sun=yes\r\n"), body_limits.WITHOUT_LOGIN),
        (head(TOO_MUCH, f"Cookie: my{settings.SESSION_COOKIE_NAME}=1\r\n"), body_limits.WITHOUT_LOGIN),
        (head(TOO_MUCH, more="Expect: 100-continue\r\n"), body_limits.WITHOUT_LOGIN),
        (head() + CHUNK, body_limits.WITHOUT_LOGIN),
    ],
)
def test_a_body_that_is_too_large_is_refused_before_it_is_read(serve, sent, limit):
    connect = serve(patience=SHORT)

    answer = read_all(connect(sent))

    assert answer.startswith(b"HTTP/1.1 413 Request Entity Too Large\r\n")
    assert answer.endswith(body_limits.why_refused(limit).encode())
    assert connect.got == []


def test_a_refusal_is_heard_by_who_sends_on(serve):
    connect = serve()
    client = connect(head(body_limits.LARGEST + 1, COOKIE))

    client.sendall(b"x" * (body_limits.LARGEST + 1))

    assert b" 413 " in read_all(client)
    assert connect.got == []


@pytest.mark.parametrize(
    ("size", "cookie"), [(body_limits.WITHOUT_LOGIN, ""), (TOO_MUCH, COOKIE), (body_limits.LARGEST, COOKIE)]
)
def test_a_body_within_the_bounds_is_read(serve, size, cookie):
    connect = serve()

    answer = read_all(connect(head(size, cookie).encode() + b"x" * size))

    assert answer.endswith(b"ok")
    assert connect.got == [size]


@pytest.mark.django_db
def test_a_session_that_is_none_sends_no_more_than_nobody(client):
    client.cookies[settings.SESSION_COOKIE_NAME] = "a" * 32

    answer = client.post("/login/", b"x" * TOO_MUCH, content_type="text/plain")

    assert answer.status_code == HTTPStatus.REQUEST_ENTITY_TOO_LARGE
    assert body_limits.why_refused(body_limits.WITHOUT_LOGIN) in answer.text


def test_a_login_may_send_a_photo_and_no_film(browser):
    sizes = [TOO_MUCH, body_limits.LARGEST + 1]

    answers = [browser.post("/settings/who/", b"x" * size, content_type="text/plain") for size in sizes]

    assert [answer.status_code for answer in answers] == [
        HTTPStatus.OK,
        HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
    ]
