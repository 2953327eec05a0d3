"""The WSGI server: waitress on 127.0.0.1."""

import os
import socket
import threading
import urllib.error
import urllib.request
from time import sleep

from django.conf import settings

from practice.project.exits import EnvironmentProblem

FIRST_PORT, LAST_PORT = 8000, 8999
THREADS = 8


def listen(asked: int | None) -> socket.socket:
    """Return a socket on the port asked for, else on the first free one from 8000.

    Raises EnvironmentProblem if there is none.
    """
    for number in [asked] if asked else range(FIRST_PORT, LAST_PORT + 1):
        try:
            return bound("127.0.0.1", number)
        except OSError as error:
            if asked:
                raise EnvironmentProblem(
                    f"Port {number} is not available ({error.strerror}). Choose another with --port."
                ) from None
    raise EnvironmentProblem(
        f"No port from {FIRST_PORT} to {LAST_PORT} is free. Close a program that uses one."
    )


def bound(address: str, port: int) -> socket.socket:
    """Return a socket that listens there. Raises OSError if it cannot."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":  # elsewhere it would share a port that is in use
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((address, port))
        listener.listen(128)
    except OSError:
        listener.close()
        raise
    return listener


class Server:
    """waitress around the application, in a thread of its own."""

    def __init__(self, listener: socket.socket):
        from practice.project.connections import BoundedServer
        from practice.project.wsgi import application

        # With HTTPS, a reverse proxy on the same machine passes requests on; its headers are trusted.
        trusted = {
            "trusted_proxy": "127.0.0.1",
            "trusted_proxy_headers": {"x-forwarded-proto", "x-forwarded-for"},
        }
        options = trusted if settings.HTTPS else {}
        self.url = f"http://127.0.0.1:{listener.getsockname()[1]}/"
        self.waitress = BoundedServer(application, listener, threads=THREADS, ident="Roundbook", **options)
        self.thread = threading.Thread(target=self.waitress.run, daemon=True)

    def begin(self) -> None:
        """Serve, and return once a page has been answered. Raises EnvironmentProblem if none is."""
        self.thread.start()
        direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        for _ in range(200):
            try:
                direct.open(f"{self.url}health/", timeout=10).read()
                return
            except urllib.error.HTTPError:  # the server responds; the health page says what is wrong
                return
            except OSError:
                sleep(0.05)
        raise EnvironmentProblem(f"The server does not respond. Details: {settings.LOG_FILE}")

    def serve_until(self, stop: threading.Event) -> None:
        """Serve until `stop` is set; then give open requests three seconds to finish.

        Raises EnvironmentProblem if the server stops by itself.
        """
        while not stop.wait(1):
            if not self.thread.is_alive():
                raise EnvironmentProblem(f"The server stopped unexpectedly. Details: {settings.LOG_FILE}")
        self.waitress.task_dispatcher.shutdown(cancel_pending=True, timeout=3)
