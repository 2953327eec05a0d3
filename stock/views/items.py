"""The truck: items by kind and size, an item and its ledger; suppliers and places."""

from collections.abc import Callable
from datetime import date
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from practice.lib.charts import columns
from practice.lib.pages import GET_OR_POST
from practice.lib.things import do, form_page, list_page
from practice.lib.today import today
from stock.actions.locations import add_location
from stock.forms.items import ItemForm, LocationForm, SupplierForm
from stock.models import Item, ItemKind, Location, Supplier
from stock.reports.levels import on_hand, to_count
from stock.reports.lots import expiring, lots_on_hand
from stock.reports.orders import on_order
from stock.reports.sizes import Cell, size_rows
from stock.reports.usage import months_of
from stock.tables import Causes, LedgerTable, LocationTable, SupplierTable


@require_GET
def truck(request: HttpRequest, to_order: Callable[[date], list]) -> HttpResponse:
    """What is on the truck: shoes and nails by size, then the rest.

    `to_order` gives the suggestions of a day, which rest on horses that this app does not know.
    """
    suggested = to_order(today())
    low = {row.item.pk for row in suggested}
    items = list(Item.objects.filter(archived="archived" in request.GET).order_by("pk"))
    left = on_hand()
    shoes, nails = ([item for item in items if item.kind == kind] for kind in (ItemKind.SHOE, ItemKind.NAIL))
    others = [item for item in items if item.kind not in (ItemKind.SHOE, ItemKind.NAIL)]
    context = {
        "grids": [("Shoes", size_rows(shoes, left, low=low)), ("Nails", size_rows(nails, left, low=low))],
        "others": [Cell(item, left.get(item.pk, 0)) for item in others],
        "suggested": suggested,
        "below": to_count(),
        "expiring": expiring(today()),
        "today": today(),
        "any": bool(items),
        "here": "truck",
    }
    return render(request, "stock/truck.html", context)


@require_GET
def item_detail(request: HttpRequest, pk: int, causes: Causes) -> HttpResponse:
    """An item: what is on hand and where, and its ledger, each row with what caused it."""
    item = get_object_or_404(Item.objects.select_related("supplier", "shelf"), pk=pk)
    rows = item.ledger.for_list().order_by("-position")
    months = months_of(item, today())
    context = {
        "item": item,
        "shelf": getattr(item, "shelf", None),
        "places": Location.objects.count(),
        "balances": item.balances.select_related("location").order_by("location"),
        "on_order": on_order(today()).get(pk),
        "lots": lots_on_hand([pk], today()) if item.has_lots else [],
        "today": today(),
        "here": "truck",
        "months": months,
        "used_lately": any(used for _, used in months),
        "chart": columns([used for _, used in months], [""] * len(months)),
    }
    table = LedgerTable(rows, causes=causes)
    return list_page(request, table, "stock/item.html", **context)


@GET_OR_POST
def item_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    item = get_object_or_404(Item, pk=pk) if pk else None
    back = reverse("stock:item-detail", args=[pk]) if pk else reverse("stock:truck")
    initial = {"unit": "each"} if not pk else {}
    return form_page(
        request,
        partial(ItemForm, instance=item, initial=initial),
        heading=f"{item}" if item else "A new item",
        back=(back, "Truck"),
        then=lambda row: reverse("stock:item-detail", args=[row.pk]),
    )


@require_POST
def item_archive(request: HttpRequest, pk: int) -> HttpResponse:
    item = get_object_or_404(Item, pk=pk)
    item.archived = not item.archived
    said = f"{item} is in the archive." if item.archived else f"{item} is back."
    target = reverse("stock:item-detail", args=[pk])
    return do(request, item.save, update_fields=["archived"], message=said, then=target)


@require_GET
def supplier_list(request: HttpRequest) -> HttpResponse:
    table = SupplierTable(Supplier.objects.current().order_by("name", "pk"))
    return list_page(request, table, "stock/suppliers.html", here="truck")


@GET_OR_POST
def supplier_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    supplier = get_object_or_404(Supplier, pk=pk) if pk else None
    return form_page(
        request,
        partial(SupplierForm, instance=supplier),
        heading=f"{supplier}" if supplier else "A new supplier",
        back=(reverse("stock:supplier-list"), "Suppliers"),
    )


@require_GET
def location_list(request: HttpRequest) -> HttpResponse:
    table = LocationTable(Location.objects.with_kept().order_by("pk"))
    return list_page(request, table, "stock/locations.html", here="truck")


@GET_OR_POST
def location_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    location = get_object_or_404(Location, pk=pk) if pk else None
    return form_page(
        request,
        partial(LocationForm, instance=location),
        heading=f"{location}" if location else "A new place",
        lead=""
        if location
        else "A truck or the shop. What has been on the one shelf so far lies at the first.",
        back=(reverse("stock:location-list"), "Places"),
        save=None if location else lambda form: add_location(form.cleaned_data["name"]),
    )
