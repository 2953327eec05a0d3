"""Messages as the practice decides about them: queued, sent again, said to have arrived, taken back."""

import threading
from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction

from billing.actions.mail_settings import check_set_up
from billing.models import MailSettings, Message, MessageAttempt
from billing.papers.message_kinds import LINK, MessageKind
from billing.reports.shared import public_address_of
from practice.lib.errors import RuleBroken
from practice.lib.mail import is_address, new_message_id, one_line
from practice.lib.profile import Profile

# Set once a message is in the book: the worker of this process then does not wait for its next round.
queued = threading.Event()


def queue_message(
    kind: MessageKind,
    thing: Any,
    *,
    to: str,
    to_name: str,
    subject: str,
    text: str,
    now: datetime,
    uuid: UUID | None = None,
) -> Message:
    """Put a message into the book, with the `uuid` of its form; it is sent once this transaction has ended.

    Raises RuleBroken("mail_not_set_up"), RuleBroken("bad_address"), RuleBroken("message_without_words").
    """
    check_set_up()
    subject, text = one_line(subject)[:300], text.replace("\r\n", "\n").strip()
    text = with_link(kind, thing, text, now)
    if not subject or not text:
        raise RuleBroken("message_without_words", "A message needs a subject and a text. Type both.")
    message = Message.objects.create(
        kind=kind.code,
        about=kind.about(thing),
        to=checked_address(to),
        to_name=one_line(to_name)[:200],
        subject=subject,
        text=text,
        message_id=new_message_id(MailSettings.current().from_address),
        queued_at=now,
        next_try=now,
        **({"uuid": uuid} if uuid else {}),
    )
    transaction.on_commit(queued.set)
    return message


def with_link(kind: MessageKind, thing: Any, text: str, now: datetime) -> str:
    """Return a text with a new link to the thing where it asks for one, blank where there can be none."""
    if LINK not in text:
        return text
    link = kind.share(thing, now) if settings.PUBLIC_ADDRESS else None
    return text.replace(LINK, public_address_of(link) if link else "").strip()


def checked_address(address: str) -> str:
    """Return an email address without blanks around it. Raises RuleBroken("bad_address")."""
    address = address.strip()
    if not is_address(address):
        raise RuleBroken(
            "bad_address", f"{address!r} is not an email address. Type one such as ann@example.com."
        )
    return address


@transaction.atomic
def queue_all(kind: MessageKind, things: Iterable[Any], now: datetime) -> list[Message]:
    """Queue one message about each thing whose recipient has an address and that has none yet.

    Pressed twice, or by two at once, it queues nothing more. Raises RuleBroken("mail_not_set_up").
    """
    check_set_up()
    profile = Profile.locked()
    things = {kind.about(thing): thing for thing in things}
    told = Message.objects.on_their_way().filter(kind=kind.code, about__in=list(things))
    for about in told.values_list("about", flat=True):
        things.pop(about, None)
    queued_now = []
    for thing in things.values():
        recipient = kind.recipient(thing)
        if recipient.has_address:
            words = kind.worded(thing, profile)
            queued_now.append(
                queue_message(
                    kind,
                    thing,
                    to=recipient.email,
                    to_name=recipient.name,
                    subject=words.subject,
                    text=words.text,
                    now=now,
                )
            )
    return queued_now


@transaction.atomic
def send_again(message: Message, now: datetime) -> Message:
    """Queue a message that was not sent, or of which nobody knows, once more.

    It keeps its Message-ID, so that a mail program that has it already can tell. Raises
    RuleBroken("mail_not_set_up") and RuleBroken("message_not_open").
    """
    check_set_up()
    _decide(
        message,
        [Message.State.REFUSED, Message.State.DOUBTFUL],
        MessageAttempt.What.AGAIN,
        now,
        state=Message.State.WAITING,
        queued_at=now,
        next_try=now,
        tries=0,
        claim=None,
        handed_over=False,
    )
    transaction.on_commit(queued.set)
    return message


@transaction.atomic
def mark_arrived(message: Message, now: datetime) -> Message:
    """Note that a message of which nobody knew did arrive. Raises RuleBroken("message_not_open")."""
    _decide(
        message,
        [Message.State.DOUBTFUL],
        MessageAttempt.What.ARRIVED,
        now,
        state=Message.State.SENT,
        claim=None,
    )
    return message


def _decide(message: Message, states: list[str], what: str, now: datetime, **changes) -> None:
    if not Message.objects.filter(pk=message.pk, state__in=states).update(**changes):
        raise RuleBroken(
            "message_not_open", "This message has changed in the meantime. Its page says how far it got."
        )
    MessageAttempt.objects.create(message=message, at=now, what=what)
    message.refresh_from_db()


@transaction.atomic
def take_message_back(message: Message) -> None:
    """Delete a message that still waits. Raises RuleBroken("message_on_its_way") once it is being sent."""
    waiting = Message.objects.select_for_update().waiting().filter(pk=message.pk)
    if not waiting.exists():
        raise RuleBroken("message_on_its_way", "This message is no longer waiting, so it cannot be stopped.")
    waiting.delete()
