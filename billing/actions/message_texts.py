"""The practice's own wording of messages."""

from django.db import transaction

from billing.models import MessageText
from billing.papers.all_kinds import KINDS
from billing.papers.invoice_messages import REMINDERS
from billing.papers.message_kinds import MessageKind
from billing.rules.wording import complaint
from practice.lib.errors import RuleBroken
from practice.lib.formats import listed
from practice.lib.mail import one_line
from practice.lib.profile import Profile


@transaction.atomic
def set_text(kind: MessageKind, subject: str, text: str, days: int | None = None) -> MessageText:
    """Save the practice's wording of a kind; `days` only for a reminder.

    Raises RuleBroken("unknown_placeholder"), and RuleBroken("reminders_out_of_order") where a reminder would
    come no later than the one before it.
    """
    Profile.locked()
    if reason := complaint(f"{subject} {text}", kind.placeholders):
        raise RuleBroken("unknown_placeholder", reason)
    if days is not None:
        check_order(kind, days)
    row, _ = MessageText.objects.update_or_create(
        kind=kind.code,
        defaults={"subject": one_line(subject), "text": text.replace("\r\n", "\n").strip(), "days": days},
    )
    return row


def check_order(kind: MessageKind, days: int) -> None:
    """Raise RuleBroken("reminders_out_of_order") unless each reminder comes later than the one before it."""
    all_days = [days if each.code == kind.code else each.own_wording().days for each in REMINDERS]
    if all_days != sorted(set(all_days)):
        raise RuleBroken(
            "reminders_out_of_order",
            f"The reminders would come {listed(all_days)} days after the due date. Each has to come later"
            " than the one before it.",
        )


def reset_text(kind: MessageKind) -> None:
    """Go back to the wording that Roundbook proposes. Raises RuleBroken("reminders_out_of_order")."""
    if kind.wording.days is not None:
        check_order(kind, kind.wording.days)
    MessageText.objects.filter(kind=kind.code).delete()


def is_own(kind: MessageKind) -> bool:
    """Whether the practice wrote the wording of a kind itself."""
    return MessageText.objects.filter(kind=kind.code).exists()


def all_texts() -> list[tuple[MessageKind, bool]]:
    """Return every kind of message, and whether its wording is the practice's own."""
    own = set(MessageText.objects.values_list("kind", flat=True))
    return [(kind, kind.code in own) for kind in KINDS.values()]
