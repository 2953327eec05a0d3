"""`manage.py unlock NAME`: ends the wait after too many wrong passwords."""

from axes.utils import reset
from django.contrib.auth import get_user_model

from practice.project.book_command import BookCommand


class Command(BookCommand):
    help = "Lets a login try again at once after too many wrong passwords."

    def add_arguments(self, parser):
        parser.add_argument("name", help="the name of the login")

    def handle(self, *, name, **options):
        if not get_user_model().objects.filter(username=name).exists():
            self.refuse(f"There is no login named {name!r}.")
        wrong = reset(username=name)
        self.stdout.write(f"{name} can log in again." if wrong else f"{name} was not locked out.")
