"""What mail there is about a thing, and of which invoices of a day something is still to send."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.urls import reverse
from django.utils.timezone import localtime

from billing.actions.mail_settings import is_set_up
from billing.models import Invoice, Message
from billing.papers.all_kinds import kind_of
from billing.papers.invoice_messages import INVOICE, REMINDERS
from billing.papers.message_kinds import MessageKind
from billing.papers.order_messages import ORDER
from billing.papers.statement_messages import STATEMENT
from billing.reports.statement import Statement
from practice.lib.formats import clock, counted, short_date
from practice.lib.list_rows import ListRow
from practice.lib.phone import sms_url
from practice.lib.profile import Profile
from stock.models import Order

# What a state needs of the practice: these are shown as late.
TO_LOOK_AT = {Message.State.REFUSED, Message.State.DOUBTFUL}


@dataclass(frozen=True)
class ThingMail:
    """The messages about one thing, and how another is sent.

    `sms_url` opens the phone's messenger instead, blank where no number is known.
    """

    send_url: str
    send_label: str
    rows: list[ListRow]
    sms_url: str = ""
    sms_label: str = ""


def moment_in_words(message: Message, profile: Profile, on: date) -> str:
    """Say when a message was queued: `Wed, Oct 14, 6:05 PM`."""
    at = localtime(message.queued_at)
    return f"{short_date(at.date(), profile.locale, on)}, {clock(at.time(), profile.locale)}"


def message_row(message: Message, profile: Profile, on: date, *, named: str) -> ListRow:
    """Return a message as a row: `named` first, then to whom and when."""
    return ListRow(
        message.get_absolute_url(),
        named,
        more=f"{message.to}, {moment_in_words(message, profile, on)}",
        fact=message.get_state_display(),
        late=message.state in TO_LOOK_AT,
    )


def mail_about(
    kinds: Sequence[MessageKind], thing: Any, send_url: str, profile: Profile, on: date
) -> ThingMail:
    """Return the messages of these kinds about a thing; the first kind is the one that is sent by hand."""
    kind = kinds[0]
    recipient = kind.recipient(thing)
    names = {each.code: each.name for each in kinds}
    messages = list(Message.objects.of(names, kind.about(thing)))
    text = kind.short(thing, profile)
    return ThingMail(
        send_url,
        "Send again" if any(each.kind == kind.code for each in messages) else "Send",
        [message_row(each, profile, on, named=names[each.kind]) for each in messages],
        sms_url(recipient.phone, text) if text else "",
        f"Text {recipient.name}",
    )


def mail_about_invoice(invoice: Invoice, profile: Profile, on: date) -> ThingMail:
    """Return the messages about an invoice, its reminders included."""
    return mail_about(
        (INVOICE, *REMINDERS), invoice, reverse("billing:invoice-send", args=[invoice.pk]), profile, on
    )


def mail_about_order(order: Order, profile: Profile, on: date) -> ThingMail:
    """Return the messages about an order."""
    return mail_about((ORDER,), order, reverse("billing:order-send", args=[order.pk]), profile, on)


@dataclass(frozen=True)
class ToPrint:
    """An invoice whose client has no address for mail: a row, and the link to the phone's messenger."""

    row: ListRow
    sms_url: str
    label: str


@dataclass(frozen=True)
class DayMail:
    """What of a day's invoices is still to send or to print. `states`: each one's state by its number."""

    to_send: list[Invoice]
    to_print: list[ToPrint]
    is_set_up: bool
    states: dict[str, str] = field(default_factory=dict)

    @property
    def send_label(self) -> str:
        """`Send the invoice`, `Send 6 invoices`."""
        count = len(self.to_send)
        return "Send the invoice" if count == 1 else f"Send {counted(count, 'invoice')}"

    @property
    def print_label(self) -> str:
        """`Print it`, `Print these 3`."""
        return "Print it" if len(self.to_print) == 1 else f"Print these {len(self.to_print)}"


def states_of(kind: MessageKind, abouts: Iterable[str]) -> dict[str, str]:
    """Return the state of the latest message of a kind about each thing, in words; nothing where none is."""
    rows = Message.objects.filter(kind=kind.code, about__in=list(abouts)).order_by("queued_at", "pk")
    return {message.about: message.get_state_display() for message in rows}


def day_mail(invoices: Sequence[Invoice], profile: Profile) -> DayMail:
    """Return what of these invoices is still to send, and which are to be printed, by client."""
    told = set(
        Message.objects.on_their_way()
        .filter(kind=INVOICE.code, about__in=[invoice.number for invoice in invoices])
        .values_list("about", flat=True)
    )
    by_address = defaultdict(list)
    for invoice in invoices:
        by_address[INVOICE.recipient(invoice).has_address].append(invoice)
    return DayMail(
        [invoice for invoice in by_address[True] if invoice.number not in told],
        [to_print(invoice, profile) for invoice in by_client(by_address[False])],
        is_set_up(),
        states_of(INVOICE, [invoice.number for invoice in invoices]),
    )


def by_client(invoices: Iterable[Invoice]) -> list[Invoice]:
    """Return invoices in the order in which they are printed to be put into envelopes."""
    return sorted(invoices, key=lambda invoice: (invoice.client.name.casefold(), invoice.number))


def to_print(invoice: Invoice, profile: Profile) -> ToPrint:
    """Return an invoice that no mail brings, with its client's phone where one is known."""
    recipient = INVOICE.recipient(invoice)
    row = ListRow(
        recipient.change_url, recipient.name, more=f"{invoice.number}, no email address", note="Add one"
    )
    return ToPrint(row, sms_url(recipient.phone, INVOICE.short(invoice, profile)), f"Text {recipient.name}")


def mail_about_statement(statement: Statement, profile: Profile, on: date) -> ThingMail:
    """Return the messages that brought this statement."""
    days = statement.period
    send_url = reverse("billing:statement-send", args=[statement.client.pk, days.begin, days.end])
    return mail_about((STATEMENT,), statement, send_url, profile, on)


def thing_of(message: Message, profile: Profile) -> tuple[str, str, list[str]]:
    """Return what a message is about: its name, its address (blank where it is gone), its papers' names."""
    kind = kind_of(message.kind)
    thing = kind.find(message.about) if kind else None
    named = named_thing(message, profile)
    return (named, kind.address(thing), kind.enclosed(thing)) if thing else (named, "", [])


def named_thing(message: Message, profile: Profile) -> str:
    """Return what a message is about, in words: `Invoice GF-2026-0187`."""
    kind = kind_of(message.kind)
    return kind.named(message.about, profile) if kind else f"{message.kind} {message.about}"
