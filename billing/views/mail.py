"""Messages: their list, one of them, and sending one about an invoice or an order."""

from datetime import date
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from billing.actions.mail_settings import is_set_up
from billing.actions.mailing import mark_arrived, queue_all, queue_message, send_again, take_message_back
from billing.forms.mail import SendForm
from billing.models import CreditNote, Invoice, Message
from billing.papers.credit_messages import CREDIT_NOTE
from billing.papers.documents import invoices_in_one_pdf
from billing.papers.invoice_messages import INVOICE
from billing.papers.message_kinds import MessageKind
from billing.papers.order_messages import ORDER
from billing.papers.statement_messages import STATEMENT
from billing.reports.mail_state import by_client, moment_in_words, thing_of
from billing.reports.message_list import MessageTable, mail_in_words
from billing.views.closing import close_url
from billing.views.statements import asked_statement
from practice.lib.addresses import search_words
from practice.lib.errors import RuleBroken
from practice.lib.formats import counted, medium_date
from practice.lib.pages import GET_OR_POST
from practice.lib.pdf_answers import pdf_response
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import do, form_page, list_page
from practice.lib.today import now, today
from stock.models import Order

State = Message.State
SHOWN_STATES = (State.WAITING, State.DOUBTFUL, State.REFUSED, State.SENT)


@require_GET
def message_list(request: HttpRequest) -> HttpResponse:
    """Messages, the latest first; `?state=` shows those in one state."""
    state = request.GET.get("state", "")
    table = MessageTable(Message.objects.in_state(state).named(search_words(request)))
    context = {
        "heading": mail_in_words(),
        "is_set_up": is_set_up(),
        "states": [("", "All", state not in State.values)]
        + [(each.value, each.label, state == each) for each in SHOWN_STATES],
        "search": "Recipient, address, or subject",
        "here": "money",
    }
    return list_page(request, table, "billing/messages/list.html", **context)


HEADINGS = {
    State.WAITING: "Waiting to be sent.",
    State.SENDING: "Being sent.",
    State.SENT: "Sent.",
    State.REFUSED: "Not sent.",
    State.DOUBTFUL: "It may or may not have arrived.",
}
LEADS = {
    State.DOUBTFUL: "The connection ended before the mail server answered. Ask the recipient, or check"
    " whether your provider lists it as sent. Then press 'It arrived' or 'Send again'.",
    State.REFUSED: "The history says why. Send it again, or open what it is about and send it to another"
    " address.",
}


@require_GET
def message_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """A message: what it says, how far it got, and what can be done about it."""
    message, profile = get_object_or_404(Message, pk=pk), Profile.for_request(request)
    named, url, papers = thing_of(message, profile)
    context = {
        "message": message,
        "heading": HEADINGS[message.state],
        "lead": LEADS.get(message.state, ""),
        "named": named,
        "url": url,
        "papers": papers,
        "queued": moment_in_words(message, profile, today()),
        "attempts": message.attempts.order_by("-at", "-pk"),
        "is_set_up": is_set_up(),
        "here": "money",
    }
    return render(request, "billing/messages/detail.html", context)


@require_POST
def message_again(request: HttpRequest, pk: int) -> HttpResponse:
    message = get_object_or_404(Message, pk=pk)
    return do(
        request, send_again, message, now(), message="It will be sent again.", then=message.get_absolute_url()
    )


@require_POST
def message_arrived(request: HttpRequest, pk: int) -> HttpResponse:
    message = get_object_or_404(Message, pk=pk)
    return do(request, mark_arrived, message, now(), message="Saved.", then=message.get_absolute_url())


@require_POST
def message_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    message = get_object_or_404(Message, pk=pk)
    return do(
        request,
        take_message_back,
        message,
        message="Deleted. It is not sent.",
        then=reverse("billing:message-list"),
    )


@GET_OR_POST
def invoice_send(request: HttpRequest, pk: int) -> HttpResponse:
    invoice = get_object_or_404(Invoice.objects.for_list(), pk=pk)
    return send_page(request, INVOICE, invoice)


@GET_OR_POST
def credit_note_send(request: HttpRequest, pk: int) -> HttpResponse:
    return send_page(request, CREDIT_NOTE, get_object_or_404(CreditNote.objects.for_list(), pk=pk))


@GET_OR_POST
def statement_send(request: HttpRequest, pk: int, first: date, last: date) -> HttpResponse:
    return send_page(request, STATEMENT, asked_statement(pk, first, last))


@GET_OR_POST
def order_send(request: HttpRequest, pk: int) -> HttpResponse:
    order = get_object_or_404(Order.objects.select_related("supplier"), pk=pk)
    return send_page(request, ORDER, order)


def send_page(request: HttpRequest, kind: MessageKind, thing: Any) -> HttpResponse:
    """Show a message about a thing, filled in, and send it as it was changed."""
    profile, recipient = Profile.for_request(request), kind.recipient(thing)
    before = list(Message.objects.of([kind.code], kind.about(thing)).on_their_way())
    words, named = kind.worded(thing, profile), kind.named(kind.about(thing), profile)
    initial = {"to": recipient.email, "subject": words.subject, "text": words.text}

    def save(form):
        words = {name: form.cleaned_data[name] for name in ("to", "subject", "text")}
        return queue_message(kind, thing, to_name=recipient.name, now=now(), uuid=row_uuid(request), **words)

    return form_page(
        request,
        partial(SendForm, before=before, initial=initial),
        heading=f"Send {named[:1].lower()}{named[1:]}",
        back=(kind.address(thing), kind.name),
        save=save,
        message=lambda message: f"On its way to {message.to}.",
        template="billing/messages/send.html",
        save_label="Send",
        recipient=recipient,
        papers=kind.enclosed(thing),
        is_set_up=is_set_up(),
    )


@require_POST
def close_send(request: HttpRequest, day: date) -> HttpResponse:
    """Send all invoices of a day that were not sent yet, to whoever has an address."""
    try:
        sent = queue_all(INVOICE, Invoice.objects.for_day(day).select_related("client"), now())
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect(close_url(day))
    told = f"{counted(len(sent), 'invoice')} queued to send." if sent else "There was nothing left to send."
    messages.success(request, told)
    return redirect(close_url(day))


@require_GET
def close_print(request: HttpRequest, day: date) -> HttpResponse:
    """The invoices of a day whose clients have no address, as one PDF sorted by client."""
    of_day = Invoice.objects.for_day(day).select_related("client")
    invoices = by_client(each for each in of_day if not INVOICE.recipient(each).has_address)
    if not invoices:
        return redirect(close_url(day))
    title = f"Invoices to print, {medium_date(day, Profile.for_request(request).locale)}"
    return pdf_response(request, partial(invoices_in_one_pdf, invoices, title), f"to print {day.isoformat()}")
