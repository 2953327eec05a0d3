"""`manage.py changepassword NAME`: asks for a new password of a login, on a terminal."""

import sys
from getpass import getpass

from django.contrib.auth import get_user_model
from django.core.management import CommandError

from practice.project.book_command import BookCommand
from practice.project.exits import REFUSED
from practice.project.logins import end_logins
from practice.project.passwords import problems_of

TRIES = 3


class Command(BookCommand):
    help = "Sets a new password for a login. It asks for it on the terminal."

    def add_arguments(self, parser):
        parser.add_argument("name", help="the name of the login")

    def handle(self, *, name, **options):
        user = get_user_model().objects.filter(username=name).first()
        if user is None:
            self.refuse(f"There is no login named {name!r}.")
        if not sys.stdin.isatty():
            self.refuse(
                "changepassword asks for the new password on a terminal, and there is none. Run it in one, or"
                " log in and change the password under Settings."
            )
        user.set_password(self.new_password(user))
        end_logins(user)
        user.save(update_fields=["password"])
        self.stdout.write(f"Password of {name} changed. Every device has to log in again.")

    def new_password(self, user) -> str:
        """Ask until a password may be used, three times at most."""
        for _ in range(TRIES):
            password = getpass("New password: ")
            problems = problems_of(password, user)
            if not problems and getpass("New password again: ") != password:
                problems = ["The two passwords differ."]
            if not problems:
                return password
            self.stderr.write(" ".join(problems))
        raise CommandError("The password was not changed.", returncode=REFUSED)
