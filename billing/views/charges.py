"""Charges: added from a client's page or a stop, changed and deleted until they are invoiced."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from billing.actions.charges import add_charge, change_charge, delete_charge
from billing.forms.charges import ChargeForm, initial_charge
from billing.models import Charge
from practice.lib import formats
from practice.lib.pages import GET_OR_POST
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.models import Client
from practice.rules.charges import line_amount
from practice.views.fetched import get_visit

WHERE_IT_GOES = "It goes on the client's invoice for that day or month. For an amount off, choose Discount."


@GET_OR_POST
def client_charge_add(request: HttpRequest, client: int) -> HttpResponse:
    """Add a charge of a client; the address may name its kind."""
    payer, profile = get_object_or_404(Client, pk=client), Profile.for_request(request)
    initial = initial_charge(profile, request.GET.get("kind", ""))
    return form_page(
        request,
        partial(ChargeForm, client=payer, initial=initial),
        heading=f"New charge for {payer}",
        lead=WHERE_IT_GOES,
        back=(payer.get_absolute_url(), str(payer)),
        save=lambda form: save_new(request, form, client=payer),
        message=partial(saved_in_words, profile),
        save_label="Add charge",
    )


@GET_OR_POST
def visit_charge_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a charge of a stop: the client is chosen, those of the place first."""
    visit = get_visit(pk)
    profile = Profile.for_request(request)
    initial = initial_charge(profile, request.GET.get("kind", ""), visit)
    return form_page(
        request,
        partial(ChargeForm, visit=visit, initial=initial),
        heading=f"New charge at {visit.place}",
        lead=WHERE_IT_GOES,
        back=(visit.get_absolute_url(), str(visit.place)),
        save=lambda form: save_new(request, form, visit=visit),
        message=partial(saved_in_words, profile),
        save_label="Add charge",
    )


def save_new(request: HttpRequest, form: ChargeForm, **of) -> Charge:
    data = dict(form.cleaned_data) | of
    client, on, name, price = (data.pop(field) for field in ("client", "date", "name", "unit_price"))
    return add_charge(client, on, name, price, **data, uuid=row_uuid(request))


def saved_in_words(profile: Profile, charge: Charge) -> str:
    """`No-show, $40.00, added for Ann. It is invoiced when you close October 14.`"""
    style = profile.currency, profile.locale
    amount = formats.money(line_amount(charge.quantity, charge.unit_price, profile.currency), *style)
    monthly = charge.client.billing == Client.Billing.MONTHLY
    when = "the month" if monthly else formats.day_and_month(charge.date, profile.locale)
    return f"{charge.name}, {amount}, added for {charge.client}. It is invoiced when you close {when}."


@GET_OR_POST
def charge_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a charge, or delete it; one that is invoiced opens its invoice."""
    charge = get_object_or_404(Charge.objects.for_list(), pk=pk)
    if charge.invoice:
        return redirect(charge.invoice)
    return form_page(
        request,
        partial(ChargeForm, row=charge, client=charge.client),
        heading=f"{charge.name}, {charge.client}",
        lead=WHERE_IT_GOES,
        back=(charge.client.get_absolute_url(), str(charge.client)),
        save=lambda form: change_charge(charge, form.cleaned_data),
        more_acts=[{"url": reverse("billing:charge-remove", args=[pk]), "label": "Delete"}],
    )


@require_POST
def charge_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Delete a charge that is not invoiced."""
    charge = get_object_or_404(Charge.objects.select_related("client"), pk=pk)
    then = charge.client.get_absolute_url()
    return do(request, delete_charge, charge, message="Charge deleted.", then=then)
