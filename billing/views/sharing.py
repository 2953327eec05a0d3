"""Links for clients, as the practice makes, copies and ends them."""

from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET, require_POST

from billing.actions.sharing import end_link, share_invoice, share_statement
from billing.forms.sharing import ShareForm
from billing.models import Invoice, SharedLink
from billing.reports.shared import LinkPage, address_of
from billing.views.statements import asked_statement
from practice.lib.pages import GET_OR_POST
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import now, today

LEAD = (
    "Whoever has the link sees this one document, what is owed, and how to pay, without logging in. You can"
    " end it at any time."
)


@GET_OR_POST
def invoice_share(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a link to an invoice."""
    invoice = get_object_or_404(Invoice.objects.select_related("client"), pk=pk)

    def save(form):
        history = form.cleaned_data["with_history"]
        return share_invoice(invoice, form.until, now(), history, row_uuid(request))

    back = (invoice.get_absolute_url(), invoice.number)
    return share_page(request, f"Share invoice {invoice.number}", back, save)


@GET_OR_POST
def statement_share(request: HttpRequest, pk: int, first: date, last: date) -> HttpResponse:
    """Make a link to a statement."""
    statement = asked_statement(pk, first, last)
    client, days = statement.client, statement.period

    def save(form):
        history = form.cleaned_data["with_history"]
        return share_statement(client, days, form.until, now(), history, row_uuid(request))

    back = (LinkPage(SharedLink(client=client, begin=first, end=last), "", last, None).thing_url, "Statement")
    return share_page(request, f"Share the statement for {client}", back, save)


def share_page(request: HttpRequest, heading: str, back: tuple[str, str], save) -> HttpResponse:
    return form_page(
        request,
        ShareForm,
        heading=heading,
        lead=LEAD,
        back=back,
        save=save,
        then=SharedLink.get_absolute_url,
        message="The link is ready.",
        save_label="Make the link",
    )


@require_GET
def link_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """A link: its address to copy, when it was opened, and how to end it."""
    link = get_object_or_404(SharedLink.objects.for_detail(), pk=pk)
    page = LinkPage(link, address_of(link, request), today(), Profile.for_request(request))
    return render(request, "billing/links/detail.html", {"page": page, "here": "money"})


@require_POST
def link_end(request: HttpRequest, pk: int) -> HttpResponse:
    """End a link."""
    link = get_object_or_404(SharedLink, pk=pk)
    return do(request, end_link, link, now(), message="The link has ended.", then=link.get_absolute_url())
