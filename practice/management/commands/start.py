"""`manage.py start`: serves the book on this machine and opens it in the browser."""

import argparse
import os
import signal
import socket
import sys
import threading
import webbrowser

from django.conf import settings
from django.contrib.auth import get_user_model
from django.core.management import call_command, get_commands
from django.urls import reverse

from practice.lib.errors import RuleBroken
from practice.lib.locks import one_at_a_time
from practice.project.backup_worker import BackupWorker
from practice.project.book_command import BookCommand
from practice.project.mail_worker import MailWorker
from practice.project.passwords import check_first_password, made_up_password
from practice.project.server import Server, listen
from practice.project.static import collect_static
from practice.project.system import bring_pango


class Command(BookCommand):
    help = "Serves the book on this machine and opens it in the browser."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument(
            "--empty", action="store_true", help="do not fill an empty book with the demo practice"
        )
        parser.add_argument("--port", type=port_number, help="use this port and no other")
        parser.add_argument(
            "--phones",
            action="store_true",
            help="also serve phones and computers in your own network, by https",
        )
        parser.add_argument(
            "--phones-port",
            type=port_number,
            help="the port they use; else the one they know, else from 8443",
        )
        parser.add_argument("--no-browser", action="store_true", help="do not open the browser")

    def handle(self, *, empty, port, no_browser, phones, phones_port, **options):
        phones = phones or bool(phones_port)
        if phones:
            refuse_phones_behind_another_server()
        stop = threading.Event()
        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, end_the_start)
        try:
            listener = listen(port or settings.PORT)
            door = door_for_phones(phones_port) if phones else None
            bring_pango()
            self.check_first_login()
            with one_at_a_time(settings.DATA_DIR / "start.lock"):
                if not empty and "demo" in get_commands() and is_the_first_start() and book_is_empty():
                    self.stderr.write("Filling the empty book with the demo practice. This happens once ...")
                    call_command("demo", stdout=self.stderr, stderr=self.stderr)
                self.first_login()
                collect_static()
            server = Server(listener)
            server.begin()
            served = self.serve_phones(server, door) if door else None
        except EndOfStart:
            self.stderr.write("Stopped.")
            return
        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, lambda *_: stop.set())
        self.stdout.write(f"Roundbook is ready at {server.url}")
        self.stdout.flush()
        if not no_browser and there_is_a_browser():
            threading.Thread(target=webbrowser.open, args=[server.url], daemon=True).start()
        MailWorker(stop).start()
        BackupWorker(stop).start()
        server.serve_until(stop)
        if served:
            served.end()
        self.stderr.write("Stopped.")

    def serve_phones(self, server: Server, door: socket.socket):
        """Serve phones too, and say who can reach the book."""
        from practice.project.serving.addresses import phone_addresses
        from practice.project.serving.phones import Phones

        served = Phones(door, server.waitress.take_over)
        served.begin()
        self.stdout.write(
            "Phones and computers in your own network can reach this book at"
            f" {' or '.join(phone_addresses())}. Each needs a login.\n"
            f"To pair a phone, open {server.url.rstrip('/')}{reverse('phones')} on this computer."
        )
        return served

    def check_first_login(self) -> None:
        """Refuse a first password that may not be used, before anything is made."""
        if settings.FIRST_USER and not get_user_model().objects.exists():
            check_first_password(settings.FIRST_USER, settings.FIRST_PASSWORD)

    def first_login(self) -> None:
        """Create the first login if there is none; a generated one is printed this once."""
        users = get_user_model()
        if users.objects.exists():
            return
        name, password = settings.FIRST_USER, settings.FIRST_PASSWORD
        if not name:
            name, password = "farrier", made_up_password()
        users.objects.create_user(name, password=password)
        if not settings.FIRST_USER:
            self.stdout.write(f"Your login (shown only once): name {name}, password {password}")
            self.stdout.flush()


class EndOfStart(BaseException):
    """SIGTERM or Ctrl-C before the book is served. Not an Exception, so that nothing catches it."""


def end_the_start(*_):
    raise EndOfStart


def refuse_phones_behind_another_server() -> None:
    """Raise RuleBroken where the settings say that the book is reached through one."""
    if settings.HTTPS:
        raise RuleBroken(
            "behind_another_server",
            "ROUNDBOOK_HTTPS says that another server with a certificate stands before this one."
            " Phones reach the book through that one: leave --phones out.",
        )


def door_for_phones(port: int | None) -> socket.socket:
    from practice.project.serving.phones import phones_listener

    return phones_listener(port)


def port_number(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= 65535):
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number from 1 to 65535")
    return int(text)


def there_is_a_browser() -> bool:
    """Whether this machine has a screen for a browser."""
    on_a_screen = os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    return bool(os.name == "nt" or sys.platform == "darwin" or on_a_screen)


def is_the_first_start() -> bool:
    """Whether the book has no login yet. A book that was begun empty stays so until something is entered."""
    return not get_user_model().objects.exists()


def book_is_empty() -> bool:
    """Whether nothing has been recorded yet."""
    from practice.lib.profile import Profile
    from practice.models import Client, Horse, Place, Visit

    return not any(model.objects.exists() for model in (Profile, Client, Place, Horse, Visit))
