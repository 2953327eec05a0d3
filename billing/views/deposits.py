"""Bank deposits: their list, one of them and its slip; make one and take it apart."""

from datetime import timedelta
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from billing.actions.depositing import make_deposit, undo_deposit
from billing.forms.deposits import DepositForm
from billing.models import BankDeposit, Payment
from billing.papers.deposit import deposit_pdf
from billing.reports.deposits import DepositTable, deposit_page, not_deposited_in_words
from practice.lib.formats import decimal_mark
from practice.lib.money import minor_digits
from practice.lib.pages import GET_OR_POST
from practice.lib.pdf_answers import pdf_response
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import do, form_page, list_page
from practice.lib.today import today

LATELY = timedelta(days=60)


@require_GET
def deposit_list(request: HttpRequest) -> HttpResponse:
    """Bank deposits, the latest first, and how much is not deposited."""
    profile, table = Profile.for_request(request), DepositTable(BankDeposit.objects.for_list())
    context = {"heading": not_deposited_in_words(profile), "here": "money"}
    return list_page(request, table, "billing/deposits/list.html", **context)


@GET_OR_POST
def deposit_add(request: HttpRequest) -> HttpResponse:
    """Tick cash and checks into a deposit: those of the last weeks, with `?earlier=1` all of them."""
    profile, now = Profile.for_request(request), today()
    since = None if "earlier" in request.GET else now - LATELY
    earlier = bool(since) and Payment.objects.to_deposit().filter(date__lt=since).exists()

    def save(form):
        data = form.cleaned_data
        return make_deposit(data["date"], data["payments"], note=data["note"], uuid=row_uuid(request))

    return form_page(
        request,
        partial(DepositForm, initial={"date": now}, since=since),
        heading="New bank deposit",
        back=(reverse("billing:deposit-list"), "Deposits"),
        save=save,
        then=BankDeposit.get_absolute_url,
        message="Deposit saved.",
        save_label="Save deposit",
        template="billing/deposits/form.html",
        earlier=earlier,
        digits=minor_digits(profile.currency),
        mark=decimal_mark(profile.locale),
    )


@require_GET
def deposit_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """A deposit: its cash and its checks."""
    page = deposit_page(get_object_or_404(BankDeposit, pk=pk), Profile.for_request(request))
    return render(request, "billing/deposits/detail.html", {"page": page, "here": "money"})


@require_POST
def deposit_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a deposit apart again."""
    deposit, then = get_object_or_404(BankDeposit, pk=pk), reverse("billing:deposit-list")
    return do(
        request,
        undo_deposit,
        deposit,
        message="Deposit undone. Its payments can be deposited again.",
        then=then,
    )


@require_GET
def deposit_document(request: HttpRequest, pk: int) -> HttpResponse:
    """The slip of a deposit as PDF."""
    deposit = get_object_or_404(BankDeposit, pk=pk)
    return pdf_response(request, partial(deposit_pdf, deposit), f"deposit-{deposit.date.isoformat()}")
