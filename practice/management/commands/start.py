"""`manage.py start`: the book, open in the browser."""

import os
import secrets
import signal
import socket
import sys
import threading
import time
import urllib.request
import webbrowser

from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import BaseCommand, call_command

from practice.lib.profile import Profile
from practice.project.bootstrap import ensure_pdf
from practice.project.commands import MachineLacks

FIRST_PORT, LAST_PORT = 8000, 8999


class Command(BaseCommand):
    help = "Serves the book on this machine and opens it in the browser."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument(
            "--empty", action="store_true", help="begin with an empty book, not with the demo"
        )
        parser.add_argument("--port", type=port, help="this port exactly")
        parser.add_argument("--no-browser", action="store_true", help="open no browser")

    def handle(self, *, empty, port, no_browser, **options):
        listener = listen(port or settings.PORT)
        ensure_pdf()
        if not empty and Profile.objects.count() == 0 and book_is_empty():
            self.stderr.write("Filling the book with a demo practice (once) ...")
            call_command("demo", stdout=self.stderr, stderr=self.stderr)
        self.first_login()
        collect_static()
        self.serve(listener, browser=not no_browser)

    def first_login(self) -> None:
        """Create the first login where none exists; one that is made up is printed this once."""
        users = get_user_model()
        if users.objects.exists():
            return
        name = settings.FIRST_USER or "farrier"
        password = settings.FIRST_PASSWORD or "-".join(secrets.token_hex(2) for _ in range(4))
        users.objects.create_superuser(name, password=password)
        if not settings.FIRST_USER:
            self.stdout.write(f"First login, shown this once: name {name}, password {password}")

    def serve(self, listener: socket.socket, browser: bool) -> None:
        from waitress.server import create_server

        from practice.project.wsgi import application

        url = f"http://127.0.0.1:{listener.getsockname()[1]}/"
        server = create_server(application, sockets=[listener], threads=8, ident="Roundbook")
        stop = threading.Event()
        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, lambda *_: stop.set())
        serving = threading.Thread(target=server.run, daemon=True)
        serving.start()
        wait_until_it_answers(url)
        self.stdout.write(f"Roundbook is ready at {url}")
        self.stdout.flush()
        if browser and (os.name == "nt" or sys.platform == "darwin" or os.environ.get("DISPLAY")):
            threading.Thread(target=webbrowser.open, args=[url], daemon=True).start()
        while not stop.wait(1):
            if not serving.is_alive():
                raise MachineLacks("The server ended by itself.")
        server.task_dispatcher.shutdown(cancel_pending=True, timeout=3)
        self.stderr.write("Stopped.")
        sys.stdout.flush()
        os._exit(0)


def port(text: str) -> int:
    number = int(text)
    if not 1 <= number <= 65535:
        raise ValueError
    return number


def listen(asked: int | None) -> socket.socket:
    """Return a socket that listens on the port asked for, else on the first free one from 8000.

    Raises MachineLacks where there is none.
    """
    for number in [asked] if asked else range(FIRST_PORT, LAST_PORT + 1):
        sock = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if os.name == "posix":
            sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            sock.bind(("127.0.0.1", number))
            sock.listen(128)
        except OSError as error:
            sock.close()
            if asked:
                raise MachineLacks(f"Port {number} cannot be had: {error.strerror}.") from None
            continue
        return sock
    raise MachineLacks(f"No port from {FIRST_PORT} to {LAST_PORT} is free.")


def wait_until_it_answers(url: str) -> None:
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}), NoRedirect)
    for _ in range(200):
        try:
            opener.open(f"{url}health/", timeout=5).read()
            return
        except urllib.error.HTTPError:
            return
        except OSError:
            time.sleep(0.05)
    raise MachineLacks("The server does not answer.")


class NoRedirect(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *args, **kwargs):
        return None


def book_is_empty() -> bool:
    """Whether nothing was recorded yet."""
    from practice.models import Client, Horse, Place, Visit

    return not any(model.objects.exists() for model in (Client, Place, Horse, Visit))


def collect_static() -> None:
    """Gather the static files where the program changed since the last time."""
    import hashlib

    from django.contrib.staticfiles.finders import get_finders

    digest = hashlib.sha256(settings.VERSION.encode())
    for finder in get_finders():
        for name, storage in finder.list([]):
            digest.update(f"{name} {os.stat(storage.path(name)).st_size} ".encode())
            if name.endswith((".css", ".js", ".svg")):
                with storage.open(name) as file:
                    digest.update(file.read())
    stamp = settings.STATIC_ROOT / "stamp"
    if not stamp.exists() or stamp.read_text() != digest.hexdigest():
        call_command("collectstatic", interactive=False, clear=True, verbosity=0)
        stamp.write_text(digest.hexdigest())
