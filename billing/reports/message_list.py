"""The list of messages, and what most needs a look."""

from datetime import date, timedelta

import django_tables2 as tables

from billing.models import Message
from billing.reports.mail_state import TO_LOOK_AT, moment_in_words, named_thing
from practice.lib.formats import counted
from practice.lib.list_rows import ListRow
from practice.lib.tables import RowTable

State = Message.State

# How long the home page tells of a message that was not sent.
TOLD_FOR = timedelta(days=7)


class MessageTable(RowTable):
    """Messages: to whom, what about, and how far each got."""

    one, many = "message", "messages"
    orders = {"-queued_at": "Latest first", "queued_at": "Earliest first", "to_name": "By recipient"}
    nothing_found = "No recipient, address, or subject matches '{}'."
    queued_at = tables.Column(order_by=("queued_at", "pk"))
    to_name = tables.Column(order_by=("to_name", "-queued_at", "-pk"))

    class Meta(RowTable.Meta):
        model = Message
        fields = ("queued_at", "to_name")
        empty_text = "No messages here."

    def row(self, message: Message) -> ListRow:
        return ListRow(
            message.get_absolute_url(),
            message.to_name or message.to,
            more=f"{named_thing(message, self.profile)}, {message.to}",
            fact=message.get_state_display(),
            late=message.state in TO_LOOK_AT,
            note=moment_in_words(message, self.profile, self.on),
        )


def mail_to_look_at(on: date) -> str:
    """Say what the home page tells of mail: what nobody knows of, what lately was not sent; else blank."""
    doubtful = Message.objects.doubtful().count()
    refused = Message.objects.refused_since(on - TOLD_FOR).count()
    return " ".join(filter(None, [doubtful and doubtful_in_words(doubtful), refused and not_sent(refused)]))


def doubtful_in_words(number: int) -> str:
    return f"{counted(number, 'message')} may or may not have arrived."


def not_sent(number: int) -> str:
    return f"{counted(number, 'message')} {'was' if number == 1 else 'were'} not sent."


def mail_in_words() -> str:
    """Say what most needs a look: `1 message may or may not have arrived.`"""
    doubtful, refused, waiting = (
        Message.objects.in_state(state).count() for state in (State.DOUBTFUL, State.REFUSED, State.WAITING)
    )
    if doubtful:
        return doubtful_in_words(doubtful)
    if refused:
        return not_sent(refused)
    if waiting:
        return f"{counted(waiting, 'message')} {'is' if waiting == 1 else 'are'} waiting to be sent."
    return "All messages are sent." if Message.objects.exists() else "No messages yet."
