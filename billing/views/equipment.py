"""Tools and equipment: a list for the tax preparer."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET

from billing.forms.expenses import EquipmentForm
from billing.models import Equipment
from billing.tables import EquipmentTable
from practice.lib.pages import GET_OR_POST
from practice.lib.things import form_page, list_page


@require_GET
def equipment_list(request: HttpRequest) -> HttpResponse:
    rows = Equipment.objects.order_by("-placed_in_service", "-pk")
    return list_page(
        request,
        EquipmentTable(rows),
        "billing/equipment/list.html",
        here="money",
        in_use=rows.filter(disposed_on__isnull=True).count(),
    )


@GET_OR_POST
def equipment_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    thing = get_object_or_404(Equipment, pk=pk) if pk else None
    return form_page(
        request,
        partial(EquipmentForm, instance=thing),
        heading=f"{thing}" if thing else "A tool or a piece of equipment",
        lead="What was paid for it is written down as an expense too; here stands what became of it.",
        back=(reverse("billing:equipment-list"), "Tools and equipment"),
    )
