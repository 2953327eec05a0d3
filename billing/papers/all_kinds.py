"""Every kind of message by its code, in the order in which pages list them."""

from billing.papers.credit_messages import CREDIT_NOTE
from billing.papers.invoice_messages import INVOICE, REMINDERS
from billing.papers.message_kinds import MessageKind
from billing.papers.order_messages import ORDER
from billing.papers.receipt_messages import RECEIPT
from billing.papers.statement_messages import STATEMENT

KINDS: dict[str, MessageKind] = {
    kind.code: kind for kind in (INVOICE, *REMINDERS, CREDIT_NOTE, STATEMENT, RECEIPT, ORDER)
}


def kind_of(code: str) -> MessageKind | None:
    """Return the kind with this code; None where a newer or older program wrote it."""
    return KINDS.get(code)
