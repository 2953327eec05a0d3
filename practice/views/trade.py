"""Services, vehicles, and how this device shows pages."""

from collections.abc import Callable
from functools import partial

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_POST

from practice.forms.trade import ServiceForm, VehicleForm
from practice.lib.addresses import search_words
from practice.lib.pages import GET_OR_POST
from practice.lib.presses import answers_anew
from practice.lib.things import form_page, list_page
from practice.lib.today import today
from practice.models import Service, Vehicle
from practice.tables import ServiceTable, VehicleTable


@require_GET
def service_list(request: HttpRequest, prices: Callable) -> HttpResponse:
    """Services and what they cost today; `prices` gives the prices of a day."""
    archived, price_of = "archived" in request.GET, prices(today()).service
    shown = Service.objects.current(archived).order_by("pk")
    table = ServiceTable(shown.named(search_words(request)), price_of=price_of)
    context = {
        "total": len(shown),
        "unpriced": sum(price_of(service.pk) is None for service in shown),
        "archived": archived,
        "search": "Find a service",
        "here": "money",
    }
    return list_page(request, table, "practice/services/list.html", **context)


@GET_OR_POST
def service_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    service = get_object_or_404(Service, pk=pk) if pk else None
    return form_page(
        request,
        partial(ServiceForm, instance=service),
        heading=f"{service}" if service else "New service",
        back=(reverse("practice:service-list"), "Prices"),
        then=Service.get_absolute_url,
    )


@require_GET
def vehicle_list(request: HttpRequest) -> HttpResponse:
    archived = "archived" in request.GET
    shown = Vehicle.objects.current(archived).order_by("pk")
    context = {"total": shown.count(), "archived": archived, "here": "road"}
    return list_page(request, VehicleTable(shown), "practice/vehicles/list.html", **context)


@GET_OR_POST
def vehicle_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    vehicle = get_object_or_404(Vehicle, pk=pk) if pk else None
    return form_page(
        request,
        partial(VehicleForm, instance=vehicle),
        heading=f"{vehicle}" if vehicle else "New vehicle",
        back=(reverse("practice:vehicle-list"), "Vehicles"),
        template="practice/vehicles/form.html",
        vehicle=vehicle,
        changes=vehicle.odometer_changes.order_by("-date") if vehicle else [],
    )


@answers_anew
@require_POST
def sun(request: HttpRequest) -> HttpResponse:
    """Turn this device's sun setting on or off: black on white, larger targets."""
    target = request.POST.get("next", "")
    if not target.startswith("/") or not url_has_allowed_host_and_scheme(target, allowed_hosts=None):
        target = reverse("home")
    response = HttpResponseRedirect(target)
    on = request.COOKIES.get("sun") != "yes"
    response.set_cookie("sun", "yes" if on else "no", max_age=60 * 60 * 24 * 365, samesite="Lax")
    return response
