"""Who owes, and since when."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from billing.models import Invoice
from practice.models import Client


@dataclass(frozen=True)
class ClientBalance:
    """A client's open invoices together, in the practice's currency; `due` is the earliest due date."""

    client: Client
    open: Decimal
    invoices: int
    due: date

    def days_late(self, on: date) -> int:
        return (on - self.due).days


def who_owes() -> list[ClientBalance]:
    """Return the clients with open invoices, the longest due first."""
    rows = defaultdict(list)
    for invoice in Invoice.objects.outstanding().select_related("client"):
        rows[invoice.client].append(invoice)
    owing = [
        ClientBalance(
            client,
            sum((invoice.open for invoice in invoices), Decimal(0)),
            len(invoices),
            min(invoice.due for invoice in invoices),
        )
        for client, invoices in rows.items()
    ]
    return sorted(owing, key=lambda row: (row.due, row.client.pk))
