"""`manage.py send`: sends the messages that wait, once each, and ends."""

from billing.actions.delivering import send_waiting
from billing.actions.mail_settings import is_set_up
from billing.models import Message
from practice.lib.formats import counted
from practice.lib.today import now
from practice.project.book_command import BookCommand

SHOWN = ("sent", "waiting", "refused", "doubtful")


class Command(BookCommand):
    help = "Sends the waiting messages, once each, and ends."
    offers_json = True

    def handle(self, *, json, **options):
        outcome = send_waiting(now, only_due=False)
        if not is_set_up():
            self.stderr.write("Mail is not set up. Enter your mail server on the page Mail.")
        if json:
            self.print_json({state: outcome[state] for state in SHOWN})
            return
        for state in SHOWN:
            if outcome[state]:
                label = Message.State(state).label
                self.stdout.write(f"{label}: {counted(outcome[state], 'message')}")
        if not outcome.total():
            self.stdout.write("No message is waiting.")
