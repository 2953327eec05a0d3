"""Sending what waits: each message is claimed, handed over and settled, and goes out at most once.

A message is claimed by one conditional update, so two processes never have the same one. Before its text
leaves, the book says so (`handed_over`), and that update too holds only for who has the claim. A process that
ends in between leaves a claim that runs out: not handed over, the message waits again; handed over, nobody
knows whether it arrived, and only the practice sends it again.
"""

import logging
import uuid
from collections import Counter
from collections.abc import Callable
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q

from billing.actions.mail_settings import mail_server
from billing.models import MailSettings, Message, MessageAttempt
from billing.papers.all_kinds import kind_of
from billing.rules.retrying import GIVE_UP_AFTER, PAUSES, pause_after
from practice.lib.mail import (
    Doubtful,
    Enclosure,
    Letter,
    MailConnection,
    NotNow,
    Refused,
    ServerUnavailable,
)
from practice.lib.pdf import PdfUnavailable

State, What = Message.State, MessageAttempt.What
# Longer than a server may take for all of its answers together.
LEASE = timedelta(minutes=15)
# So many times in a row the server cannot be reached before the rest is left for later.
UNREACHED = 2
UNKNOWN = "Roundbook ended while it was being sent. It may have arrived."

log = logging.getLogger("roundbook")


class ClaimLost(Exception):
    """The claim ran out before the text was sent, and the message is another's again."""


def send_waiting(
    clock: Callable[[], datetime], *, only_due: bool, stop: Callable[[], bool] = lambda: False
) -> Counter:
    """Try what waits once each, in order; return how many ended in each state.

    `only_due` leaves out what was tried and has to pause; `stop` is asked before each message. Where mail is
    not set up, all of it stays waiting. Never call it within a transaction.
    """
    outcome = Counter({State.DOUBTFUL: give_up_claims(clock())})
    rows = Message.objects.waiting()
    if only_due:
        rows = rows.filter(next_try__lte=clock())
    keys = list(rows.order_by("pk").values_list("pk", flat=True))
    server = mail_server()
    if not keys or server is None:
        return outcome + Counter({State.WAITING: len(keys)})
    unreached = 0
    with MailConnection(server) as mail:
        for done, key in enumerate(keys):
            if stop() or unreached >= UNREACHED:
                return outcome + Counter({State.WAITING: len(keys) - done})
            state, reached = send_one(key, mail, clock)
            outcome[state] += state is not None
            unreached = 0 if reached else unreached + 1
    return outcome


def give_up_claims(now: datetime) -> int:
    """Settle messages whose sender ended midway; return of how many nobody knows whether they arrived."""
    doubtful = 0
    for message in Message.objects.filter(state=State.SENDING, claimed_until__lte=now):
        ours = Message.objects.filter(pk=message.pk, state=State.SENDING, claim=message.claim)
        with transaction.atomic():
            if ours.filter(handed_over=False).update(state=State.WAITING, claim=None):
                continue
            # The claim stays: who was only slow may still say how it ended.
            if ours.update(state=State.DOUBTFUL):
                MessageAttempt.objects.create(message=message, at=now, what=What.DOUBTFUL, note=UNKNOWN)
                doubtful += 1
    return doubtful


def send_one(key: int, mail: MailConnection, clock: Callable[[], datetime]) -> tuple[str | None, bool]:
    """Send one message if nobody else has it; return its state then (None: not ours), and whether the server
    was reached.
    """
    now, claim = clock(), uuid.uuid4()
    if (
        not Message.objects.waiting()
        .filter(pk=key)
        .update(state=State.SENDING, claim=claim, claimed_until=now + LEASE, handed_over=False)
    ):
        return None, True
    message = Message.objects.get(pk=key)
    try:
        answer = mail.send(letter_of(message, now), lambda: hand_over(message))
    except ClaimLost:
        return None, True
    except Refused as error:
        return settle(message, State.REFUSED, What.REFUSED, str(error), clock()), True
    except Doubtful as error:
        return settle(message, State.DOUBTFUL, What.DOUBTFUL, str(error), clock()), True
    except (NotNow, PdfUnavailable) as error:
        reached = not isinstance(error, ServerUnavailable)
        return put_off(message, str(error), clock(), may_give_up=reached), reached
    except Exception as error:
        log.error("message %s could not be made", message.uuid, exc_info=error)
        note = "The message could not be prepared. The log has the details."
        return put_off(message, note, clock(), may_give_up=True), True
    return settle(message, State.SENT, What.SENT, answer, clock()), True


def letter_of(message: Message, now: datetime) -> Letter:
    """Return a message as it is sent, with its papers. Raises Refused where what it is about is gone."""
    own = MailSettings.current()
    return Letter(
        message_id=message.message_id,
        sender_name=own.from_name,
        sender=own.from_address,
        to_name=message.to_name,
        to=message.to,
        subject=message.subject,
        text=message.text + "\n",
        date=now,
        enclosures=tuple(papers_of(message)),
    )


def papers_of(message: Message) -> list[Enclosure]:
    """Make the papers of a message. Raises Refused where what it is about is gone, PdfUnavailable."""
    kind = kind_of(message.kind)
    thing = kind.find(message.about) if kind else None
    if thing is None:
        raise Refused("What it is about is no longer in the book.")
    if reason := kind.why_not(thing):
        raise Refused(reason)
    return kind.enclosures(thing)


def hand_over(message: Message) -> None:
    """Save that the text is about to leave. Raises ClaimLost where the message is no longer ours."""
    ours = Message.objects.filter(pk=message.pk, state=State.SENDING, claim=message.claim)
    if not ours.update(handed_over=True):
        raise ClaimLost


def put_off(message: Message, note: str, now: datetime, may_give_up: bool) -> str | None:
    """Let a message wait again, longer each time; after enough tries over some days it is given up."""
    tries = message.tries + 1
    if may_give_up and tries > len(PAUSES) and now - message.queued_at >= GIVE_UP_AFTER:
        return settle(message, State.REFUSED, What.REFUSED, f"{note} Given up after {tries} tries.", now)
    return settle(
        message, State.WAITING, What.LATER, note, now, tries=tries, next_try=now + pause_after(tries)
    )


@transaction.atomic
def settle(message: Message, state: str, what: str, note: str, now: datetime, **more) -> str | None:
    """Note how a try ended; return the state, None where somebody else has settled it."""
    ours = Q(pk=message.pk, claim=message.claim, state__in=[State.SENDING, State.DOUBTFUL])
    kept = message.claim if state == State.DOUBTFUL else None
    if not Message.objects.filter(ours).update(state=state, claim=kept, claimed_until=None, **more):
        return None
    MessageAttempt.objects.create(message=message, at=now, what=what, note=note)
    return state
