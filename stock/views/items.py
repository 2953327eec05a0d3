"""The truck: items by kind and size, an item and its ledger; suppliers and locations."""

from collections.abc import Callable
from datetime import date
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from practice.lib.addresses import search_words
from practice.lib.merges import merged_into
from practice.lib.pages import GET_OR_POST
from practice.lib.profile import Profile
from practice.lib.things import do, form_page, list_page
from practice.lib.today import today
from stock.actions.locations import add_location
from stock.forms.items import ItemForm, LocationForm, SupplierForm
from stock.models import Item, Location, Supplier
from stock.reports.items import item_sheet, truck_page
from stock.tables import Causes, LedgerTable, LocationTable, SupplierTable


@require_GET
def truck(request: HttpRequest, low: Callable[[date], list]) -> HttpResponse:
    """What is on the truck: shoes and nails by size, then the rest.

    `low` gives what to order or to wait for on a day, which rests on horses that this app does not know.
    """
    page = truck_page(today(), low(today()), archived="archived" in request.GET)
    return render(request, "stock/truck.html", {"truck": page, "today": today(), "here": "truck"})


@require_GET
def item_detail(request: HttpRequest, pk: int, causes: Causes) -> HttpResponse:
    """An item: what is on hand and where, and its ledger, each row with what caused it."""
    item = get_object_or_404(Item.objects.for_detail(), pk=pk)
    table = LedgerTable(item.ledger.for_list().matching(search_words(request)), causes=causes)
    profile = Profile.for_request(request)
    context = {
        "item": item,
        "sheet": item_sheet(item, today(), profile),
        "merged": merged_into(item, today(), profile),
        "today": today(),
        "here": "truck",
    }
    return list_page(request, table, "stock/item.html", **context)


@GET_OR_POST
def item_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    item = get_object_or_404(Item, pk=pk) if pk else None
    return form_page(
        request,
        partial(ItemForm, instance=item, initial={} if item else {"unit": "each"}),
        heading=f"Change {item}" if item else "New item",
        back=(item.get_absolute_url(), str(item)) if item else (reverse("stock:truck"), "Truck"),
        then=Item.get_absolute_url,
    )


@require_POST
def item_archive(request: HttpRequest, pk: int) -> HttpResponse:
    item = get_object_or_404(Item, pk=pk)
    item.archived = not item.archived
    message = f"{item} is archived." if item.archived else f"{item} is restored."
    return do(request, item.save, update_fields=["archived"], message=message, then=item.get_absolute_url())


@require_GET
def supplier_list(request: HttpRequest) -> HttpResponse:
    suppliers = Supplier.objects.for_list()
    table = SupplierTable(suppliers.named(search_words(request)))
    context = {"total": suppliers.count(), "search": "Find a supplier", "here": "truck"}
    return list_page(request, table, "stock/suppliers.html", **context)


@GET_OR_POST
def supplier_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    supplier = get_object_or_404(Supplier, pk=pk) if pk else None
    return form_page(
        request,
        partial(SupplierForm, instance=supplier),
        heading=f"Change {supplier}" if supplier else "New supplier",
        back=(reverse("stock:supplier-list"), "Suppliers"),
    )


@require_GET
def location_list(request: HttpRequest) -> HttpResponse:
    locations = Location.objects.for_list()
    context = {"total": locations.count(), "here": "truck"}
    return list_page(request, LocationTable(locations), "stock/locations.html", **context)


@GET_OR_POST
def location_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    location = get_object_or_404(Location, pk=pk) if pk else None
    lead = "A truck or the shop. The first one takes over everything that is on the one shelf so far."
    return form_page(
        request,
        partial(LocationForm, instance=location),
        heading=f"Change {location}" if location else "New location",
        lead="" if location else lead,
        back=(reverse("stock:location-list"), "Stock locations"),
        save=None if location else lambda form: add_location(form.cleaned_data["name"]),
    )
