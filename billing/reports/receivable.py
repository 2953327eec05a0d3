"""What clients owe: all of them, the longest due first, and one client's account."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from billing.actions.settling import credit_left
from billing.models import Charge, CreditNote, Invoice, Payment
from billing.rules.ageing import OpenAmount, by_age
from practice.lib.formats import counted, days_over, money, short_date
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import Client

INVOICES, PAYMENTS = 12, 8


@dataclass(frozen=True)
class ClientBalance:
    """A client's open invoices together, in the practice's currency; `due` is the earliest due date."""

    client: Client
    open: Decimal
    invoices: int
    due: date
    amounts: tuple[OpenAmount, ...] = ()

    def ages(self, on: date) -> tuple[Decimal, ...]:
        """Return what is open by days past due, in each of `ageing.SPANS`."""
        return by_age(self.amounts, on)

    def days_overdue(self, on: date) -> int:
        """Return how many days past due it is; below zero where it is not due yet."""
        return (on - self.due).days

    def row(self, on: date, profile: Profile) -> ListRow:
        """Return what a list says of it: how many invoices, how much is open, and since or until when."""
        days = self.days_overdue(on)
        return ListRow(
            self.client.get_absolute_url(),
            str(self.client),
            more=counted(self.invoices, "invoice"),
            fact=money(self.open, profile.currency, profile.locale),
            late=days > 0,
            note=days_over(days) if days > 0 else f"due {short_date(self.due, profile.locale, on)}",
        )


def who_owes() -> list[ClientBalance]:
    """Return the clients with open invoices, the longest due first."""
    rows = defaultdict(list)
    for invoice in Invoice.objects.outstanding().select_related("client"):
        rows[invoice.client].append(invoice)
    balances = [
        ClientBalance(
            client,
            sum((invoice.open for invoice in invoices), Decimal(0)),
            len(invoices),
            min(invoice.due for invoice in invoices),
            tuple(OpenAmount(invoice.due, invoice.open) for invoice in invoices),
        )
        for client, invoices in rows.items()
    ]
    return sorted(balances, key=lambda row: (row.due, row.client.pk))


@dataclass(frozen=True)
class ClientAccount:
    """What a client owes and has as credit, in the practice's currency, and the latest of each.

    `due` is the earliest day on which something is to be paid, None: nothing is. `invoice_count` and
    `payment_count` are of all there are.
    """

    client: Client
    open: Decimal
    due: date | None
    credit: Decimal
    invoice_count: int
    payment_count: int
    invoices: list[Invoice]
    payments: list[Payment]
    credit_notes: list[CreditNote]
    charges: list[Charge]

    def in_words(self, on: date, profile: Profile) -> str:
        """Return the answer of its page: what is owed, since when, and the credit."""
        return in_words(self.client, self.open, self.due, self.credit, on, profile)

    @property
    def balance(self) -> Decimal:
        """What is owed less the credit: below zero where the client has more than is owed."""
        return self.open - self.credit

    @property
    def has_more_invoices(self) -> bool:
        return self.invoice_count > len(self.invoices)

    @property
    def has_more_payments(self) -> bool:
        return self.payment_count > len(self.payments)


def owes_in_words(client: Client, on: date, profile: Profile) -> str:
    """`Ann Birch owes $120.00, 12 days overdue.`, `Ann Birch owes nothing and has $20.00 in credit.`"""
    return in_words(client, *standing_of(client), on, profile)


def standing_of(client: Client) -> tuple[Decimal, date | None, Decimal]:
    """Return what a client owes, since or until when (None: nothing is owed), and what is left as credit."""
    invoices = list(client.invoices.outstanding())
    total = sum((invoice.open for invoice in invoices), Decimal(0))
    return total, min((invoice.due for invoice in invoices), default=None), credit_left(client)


def in_words(
    client: Client, total: Decimal, due: date | None, credit: Decimal, on: date, profile: Profile
) -> str:
    owed = money(total, profile.currency, profile.locale) if total else "nothing"
    over = (on - due).days if due else 0
    late = f", {days_over(over)}" if over > 0 else ""
    has = f"{late and ','} and has {money(credit, profile.currency, profile.locale)} in credit"
    return f"{client} owes {owed}{late}{has if credit else ''}."


def account_of_client(client: Client) -> ClientAccount:
    """Return a client's account with the latest invoices, payments, credit notes and charges."""
    return ClientAccount(
        client,
        *standing_of(client),
        client.invoices.count(),
        client.payments.count(),
        list(client.invoices.for_list()[:INVOICES]),
        list(client.payments.for_list()[:PAYMENTS]),
        list(CreditNote.objects.for_list().filter(invoice__client=client)[:PAYMENTS]),
        list(client.charges.for_list()[:PAYMENTS]),
    )
