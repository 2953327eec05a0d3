"""Writing messages, their wording, and disputes. Nothing that is imported waits to be sent."""

from billing.models import Dispute, Message, MessageAttempt, MessageText
from practice.project.book.files_mail import ATTEMPTS, DISPUTES, MESSAGES, TEXTS
from practice.project.book.reader import own_key
from practice.project.book.writer.common import BATCH, Writer


def write_mail(writer: Writer) -> None:
    rows = writer.new(MESSAGES)
    messages = [
        Message(
            to_name=row["recipient"],
            to=row["address"],
            **writer.attributes(row, ["ref", "recipient", "address"]),
            **own_key(row),
        )
        for row in rows
    ]
    Message.objects.bulk_create(messages, batch_size=BATCH)
    for row, message in zip(rows, messages, strict=True):
        writer.lookup.objects[MESSAGES][row["ref"]] = message
    writer.add(ATTEMPTS, MessageAttempt)
    writer.change(TEXTS)
    writer.add(TEXTS, MessageText)
    writer.change(DISPUTES)
    writer.add(DISPUTES, Dispute)
