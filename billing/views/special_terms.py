"""Special prices, and who pays for a horse instead of its owners."""

from collections.abc import Callable
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from billing.actions.payers import add_payer, change_payer, remove_payer
from billing.actions.prices import change_special_price, remove_special_price, set_price
from billing.forms.money import PriceForm
from billing.forms.prices import PayerForm, SpecialPriceForm, initial_of_price, initial_special_price
from billing.models import BillTo, Price
from billing.reports.special_terms import terms_of_client, terms_of_horse, terms_of_place
from practice.lib.addresses import id_of
from practice.lib.pages import GET_OR_POST, render_page
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import today
from practice.models import Client, Horse, Place, Service
from stock.models import Item

KINDS = {"horse": Horse, "client": Client, "place": Place, "service": Service, "item": Item}


@require_GET
def horse_terms(request: HttpRequest, pk: int) -> HttpResponse:
    """Who pays for a horse, and its special prices."""
    return show_terms(request, terms_of_horse, get_object_or_404(Horse, pk=pk))


@require_GET
def client_terms(request: HttpRequest, pk: int) -> HttpResponse:
    """A client's special prices, and whom else's horses the client pays for."""
    return show_terms(request, terms_of_client, get_object_or_404(Client, pk=pk))


@require_GET
def place_terms(request: HttpRequest, pk: int) -> HttpResponse:
    """A place's special prices."""
    return show_terms(request, terms_of_place, get_object_or_404(Place, pk=pk))


def show_terms(request: HttpRequest, terms_of: Callable, row: Horse | Client | Place) -> HttpResponse:
    context = {"terms": terms_of(row, Profile.for_request(request)), "here": "horses"}
    return render_page(request, "billing/terms/page.html", context, partial="billing/terms/_terms.html")


@GET_OR_POST
def special_price_add(request: HttpRequest) -> HttpResponse:
    """Add a special price; the link says for whom or of what, and there the way back leads."""
    asked = {kind: id_of(request.GET[kind]) for kind in KINDS if kind in request.GET}
    rows = [row for kind, key in asked.items() if key and (row := KINDS[kind].objects.filter(pk=key).first())]
    back = way_back(rows[0]) if rows else (reverse("practice:service-list"), "Prices")
    return form_page(
        request,
        partial(SpecialPriceForm, initial=initial_special_price(asked, today())),
        heading="New special price",
        back=back,
        save=lambda form: set_price(**form.cleaned_data),
    )


def way_back(row: Horse | Client | Place | Service | Item) -> tuple[str, str]:
    """Return the page that special prices of this are on: an item's and a service's prices, else its own."""
    url = reverse("billing:item-prices", args=[row.pk]) if isinstance(row, Item) else row.get_absolute_url()
    return url, str(row)


@GET_OR_POST
def special_price_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a special price, or delete it."""
    row = get_object_or_404(Price.objects.special(), pk=pk)

    def make_form(*data, profile: Profile) -> PriceForm:
        return PriceForm(*data, profile=profile, row=row, thing=row.thing, initial=initial_of_price(row))

    return form_page(
        request,
        make_form,
        heading=f"{row.thing} for {row.whose}",
        lead="A special price. Invoices already issued keep their prices.",
        back=way_back(row.whose),
        save=lambda form: change_special_price(row, form.cleaned_data["since"], form.cleaned_data["price"]),
        more_acts=[{"url": reverse("billing:special-price-remove", args=[pk]), "label": "Delete"}],
    )


@require_POST
def special_price_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Delete a special price."""
    row = get_object_or_404(Price.objects.special(), pk=pk)
    then = way_back(row.whose)[0]
    return do(request, remove_special_price, row, message="Special price deleted.", then=then)


@GET_OR_POST
def bill_to_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Let someone else pay for a horse."""
    horse = get_object_or_404(Horse, pk=pk)
    return form_page(
        request,
        partial(PayerForm, initial={"valid_from": today()}),
        heading=f"Who pays for {horse}",
        lead="Someone who pays instead of the owners, such as a trainer, a lessee, or a rescue.",
        back=(horse.get_absolute_url(), str(horse)),
        save=lambda form: add_payer(horse, *payer_data(form)),
    )


@GET_OR_POST
def bill_to_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change who pays for a horse, or delete it."""
    row = get_object_or_404(BillTo.objects.for_list(), pk=pk)
    return form_page(
        request,
        partial(PayerForm, row=row),
        heading=f"Who pays for {row.horse}",
        lead="Invoices already issued stay as they are.",
        back=(row.horse.get_absolute_url(), str(row.horse)),
        save=lambda form: change_payer(row, *payer_data(form)),
        more_acts=[{"url": reverse("billing:bill-to-remove", args=[pk]), "label": "Delete"}],
    )


def payer_data(form: PayerForm) -> tuple:
    return tuple(form.cleaned_data[name] for name in ("client", "valid_from", "valid_to", "service"))


@require_POST
def bill_to_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Delete who pays for a horse: its owners do."""
    row = get_object_or_404(BillTo.objects.for_list(), pk=pk)
    message = f"{row.client} no longer pays for {row.horse}."
    return do(request, remove_payer, row, message=message, then=row.horse.get_absolute_url())
