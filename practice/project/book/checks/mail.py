"""Rules of messages, their wording, and disputes."""

from collections import Counter

from billing.models import Dispute, Message
from billing.papers.all_kinds import kind_of
from billing.rules.wording import complaint
from practice.project.book.checks.common import Checks
from practice.project.book.files_mail import DISPUTES, MESSAGES, TEXTS


def check_mail(checks: Checks) -> None:
    check_messages(checks)
    check_texts(checks)
    check_disputes(checks)


def check_messages(checks: Checks) -> None:
    """A Message-ID belongs to one message."""
    rows = checks.new(MESSAGES)
    given = Counter(row["message_id"] for row in rows)
    taken = set(
        Message.objects.filter(message_id__in=[each for each in given if each]).values_list(
            "message_id", flat=True
        )
    )
    for row in rows:
        if row["message_id"] in taken or given[row["message_id"]] > 1:
            checks.complain(row, "message_id", f'"{row["message_id"]}" is the ID of another message')


def check_texts(checks: Checks) -> None:
    """A wording holds only words that are filled in; a kind that is not known is kept as it is."""
    for row in checks.new_or_changed(TEXTS):
        kind = kind_of(row["kind"] or "")
        for column in ("subject", "text"):
            if kind and (reason := complaint(row[column] or "", kind.placeholders)):
                checks.complain(row, column, reason)
        if kind and "days" in row.given and (row["days"] is None) != (kind.wording.days is None):
            wanted = "required for a reminder" if kind.wording.days else "only for a reminder"
            checks.complain(row, "days", f"is {wanted}")


def check_disputes(checks: Checks) -> None:
    """A dispute is settled after it began, and an invoice has one open dispute."""
    rows = checks.new_or_changed(DISPUTES)
    for row in rows:
        checks.must_end_after_it_begins(row, "opened_on", "settled_on")
    told = {(row["invoice"], row["opened_on"]) for row in rows}
    is_open = Counter(row["invoice"] for row in rows if row["settled_on"] is None)
    for number, day in Dispute.objects.open().values_list("invoice__number", "opened_on"):
        is_open[number] += (number, day) not in told
    for row in rows:
        if row["settled_on"] is None and is_open[row["invoice"]] > 1:
            checks.complain(row, "settled_on", f'invoice "{row["invoice"]}" has another open dispute')
