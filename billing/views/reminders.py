"""Reminders that are due, sent on a press; and disputes, which stop them."""

from functools import partial

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from billing.actions.mail_settings import is_set_up
from billing.actions.reminding import open_dispute, send_reminders, settle_dispute
from billing.forms.mail import DisputeForm
from billing.models import Dispute, Invoice
from billing.reports.reminders import due_reminders
from practice.lib.addresses import id_of
from practice.lib.errors import RuleBroken
from practice.lib.formats import counted
from practice.lib.pages import GET_OR_POST
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import now, today


@GET_OR_POST
def reminder_list(request: HttpRequest) -> HttpResponse:
    """The reminders that are due; POST sends those that are checked."""
    if request.method == "POST":
        return send_checked(request)
    profile, due = Profile.for_request(request), due_reminders(today())
    by_mail = [row for row in due if row.can_be_sent]
    context = {
        "heading": f"{counted(len(due), 'reminder')} due." if due else "No reminder is due.",
        "by_mail": [(row.invoice, row.row(profile)) for row in by_mail],
        "by_phone": [(row.row(profile), row.sms_url(profile)) for row in due if not row.can_be_sent],
        "disputes": Dispute.objects.for_list(),
        "is_set_up": is_set_up(),
        "here": "money",
    }
    return render(request, "billing/reminders.html", context)


def send_checked(request: HttpRequest) -> HttpResponse:
    chosen = {id_of(key) for key in request.POST.getlist("invoice")} - {None}
    try:
        sent = send_reminders(chosen, today(), now())
    except RuleBroken as error:
        messages.error(request, str(error))
    else:
        told = f"{counted(len(sent), 'reminder')} queued to send."
        messages.success(request, told if sent else "No reminder is checked, so none is sent.")
    return redirect("billing:reminder-list")


@GET_OR_POST
def dispute_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Mark an invoice as disputed, with what the client says."""
    invoice = get_object_or_404(Invoice, pk=pk)
    return form_page(
        request,
        partial(DisputeForm),
        heading=f"Invoice {invoice} is disputed",
        lead="No reminders go out for it until the dispute is settled.",
        back=(invoice.get_absolute_url(), f"Invoice {invoice}"),
        save=lambda form: open_dispute(invoice, form.cleaned_data["note"], today()),
        message="Marked as disputed. Reminders stop.",
    )


@require_POST
def dispute_settle(request: HttpRequest, pk: int) -> HttpResponse:
    dispute = get_object_or_404(Dispute.objects.select_related("invoice"), pk=pk)
    return do(
        request,
        settle_dispute,
        dispute,
        today(),
        message="Settled. Reminders can go out again.",
        then=dispute.invoice.get_absolute_url(),
    )
