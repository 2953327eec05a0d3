"""The files of mail: messages with their history, the wording of each kind, and disputes.

Neither the mail server nor its password is in the book. A message that waits goes out as not sent, and one
that is just being sent as not known: no other book sends it by itself.
"""

from billing.models import Dispute, Message, MessageAttempt, MessageText
from practice.project.book.columns import (
    DAY,
    MAIL,
    NAME,
    REASON,
    BookColumn,
    BookFile,
    own_ref,
    ref,
    text,
    through,
)
from practice.project.book.values import Choice, Limited, RefOf, Timestamp, Whole

MESSAGES, ATTEMPTS, TEXTS, DISPUTES = (
    "messages.csv",
    "message_attempts.csv",
    "message_texts.csv",
    "disputes.csv",
)
State = Message.State
GOES_OUT_AS = {State.WAITING: State.REFUSED, State.SENDING: State.DOUBTFUL}
KIND = Limited(30)


def state_outside(message: Message) -> str:
    """Return a message's state as another book may have it."""
    return GOES_OUT_AS.get(message.state, message.state)


def mail() -> tuple[BookFile, ...]:
    return (
        BookFile(
            MESSAGES,
            (
                own_ref(),
                text("kind", KIND, required=True),
                text("about", NAME, required=True),
                text("recipient", NAME, get=through("to_name")),
                text("address", MAIL, required=True, get=through("to")),
                text("subject", REASON, required=True),
                text("text", required=True),
                text("message_id", Limited(400), required=True),
                BookColumn(
                    "state",
                    Choice([State.SENT.value, State.REFUSED.value, State.DOUBTFUL.value]),
                    required=True,
                    get=state_outside,
                ),
                BookColumn("queued_at", Timestamp(), required=True),
            ),
            lambda: Message.objects.order_by("pk"),
            known_by=("ref",),
        ),
        BookFile(
            ATTEMPTS,
            (
                ref("message", MESSAGES, required=True),
                BookColumn("at", Timestamp(), required=True),
                BookColumn("what", Choice(MessageAttempt.What.values), required=True),
                text("note"),
            ),
            lambda: MessageAttempt.objects.select_related("message").order_by("pk"),
        ),
        BookFile(
            TEXTS,
            (
                text("kind", KIND, required=True),
                text("subject", REASON, required=True),
                text("text", required=True),
                BookColumn("days", Whole(1, 365)),
            ),
            lambda: MessageText.objects.order_by("pk"),
            known_by=("kind",),
            updates=True,
        ),
        BookFile(
            DISPUTES,
            (
                BookColumn("invoice", RefOf("invoices.csv"), required=True, get=through("invoice.number")),
                BookColumn("opened_on", DAY, required=True),
                text("note", required=True),
                BookColumn("settled_on", DAY),
            ),
            lambda: Dispute.objects.select_related("invoice").order_by("pk"),
            known_by=("invoice", "opened_on"),
            updates=True,
        ),
    )
