"""Prices of services and items, and tax rates."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET

from billing.actions.prices import raise_prices, set_price
from billing.forms.money import PriceForm, TaxRateForm
from billing.forms.prices import PriceRiseForm
from billing.models import TaxRate
from billing.models.rate_state import RateState
from billing.reports.special_terms import add_address, rows_by_whose
from billing.tables.rates import TaxRateTable
from practice.lib.formats import counted
from practice.lib.pages import GET_OR_POST
from practice.lib.profile import Profile
from practice.lib.things import form_page, list_page
from practice.lib.today import today
from practice.models import Service
from stock.models import Item

TAX_NOTE = (
    "What is taxed, and at which rate, differs from place to place and changes. Ask a licensed tax preparer."
)


@GET_OR_POST
def service_prices(request: HttpRequest, pk: int) -> HttpResponse:
    """The prices of a service."""
    service = get_object_or_404(Service, pk=pk)
    return prices_page(
        request,
        service,
        back=(reverse("practice:service-list"), "Prices"),
        change=reverse("practice:service-change", args=[pk]),
        archive=reverse("practice:service-archive", args=[pk]),
        without="No price yet. Visits with this work are held back until it has one.",
        here="money",
    )


@GET_OR_POST
def item_prices(request: HttpRequest, pk: int) -> HttpResponse:
    """The prices of an item. One without a price is not billed: the price of the work covers it."""
    item = get_object_or_404(Item, pk=pk)
    target = reverse("stock:item-detail", args=[pk])
    return prices_page(
        request,
        item,
        back=(target, str(item)),
        change=target,
        without="No price yet. Until it has one, it is included in the price of the work.",
        here="truck",
    )


def prices_page(request: HttpRequest, thing: Service | Item, back: tuple[str, str], **more) -> HttpResponse:
    """The dated prices of a service or an item, and the form for a new one."""
    return form_page(
        request,
        partial(PriceForm, thing=thing, initial={"since": today()}),
        heading=f"{thing}",
        back=back,
        save=lambda form: set_price(thing, form.cleaned_data["since"], form.cleaned_data["price"]),
        then=request.path,
        template="billing/prices/thing.html",
        thing=thing,
        prices=thing.prices.general().for_list(),
        special=rows_by_whose(thing.prices.special(), Profile.for_request(request)),
        add_special=add_address(thing._meta.model_name, thing),
        sale_price=getattr(thing, "sale_price", None),
        **more,
    )


@GET_OR_POST
def price_rise(request: HttpRequest) -> HttpResponse:
    """New prices for all services, or some, by percent; shown line by line before they are saved."""
    return form_page(
        request,
        partial(PriceRiseForm, initial={"since": today()}),
        heading="Raise prices",
        lead="Special prices stay as they are, and so does what is already invoiced.",
        back=(reverse("practice:service-list"), "Prices"),
        save=lambda form: raise_prices(form.new_prices, form.cleaned_data["since"]),
        message=lambda prices: f"{counted(len(prices), 'new price')} saved.",
        template="billing/prices/rise.html",
        here="money",
    )


@require_GET
def tax_rate_list(request: HttpRequest) -> HttpResponse:
    """Tax rates, those in force today first."""
    rates = TaxRate.objects.for_list(today())
    in_force = sum(rate.state == RateState.IN_FORCE for rate in rates)
    context = {"in_force": in_force, "note": TAX_NOTE, "here": "money"}
    return list_page(request, TaxRateTable(rates), "billing/prices/tax_rates.html", **context)


@GET_OR_POST
def tax_rate_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """Change a tax rate, or add one."""
    rate = get_object_or_404(TaxRate, pk=pk) if pk else None

    def save(form):
        Profile.current().check_open(form.cleaned_data["valid_from"])
        return form.save()

    return form_page(
        request,
        partial(TaxRateForm, instance=rate),
        heading=f"{rate.name}" if rate else "New tax rate",
        note=TAX_NOTE,
        back=(reverse("billing:tax-rate-list"), "Tax rates"),
        save=save,
    )
