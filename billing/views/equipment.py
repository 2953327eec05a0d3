"""Tools and equipment: a list for the tax preparer."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET

from billing.forms.expenses import EquipmentForm
from billing.models import Equipment
from billing.reports.turnover import equipment_in_use
from billing.tables.spending import EquipmentTable
from practice.lib.addresses import search_words
from practice.lib.pages import GET_OR_POST
from practice.lib.things import form_page, list_page


@require_GET
def equipment_list(request: HttpRequest) -> HttpResponse:
    """Tools and equipment, those in use first."""
    table = EquipmentTable(Equipment.objects.for_list().named(search_words(request)))
    context = {"in_use": equipment_in_use(), "search": "Find a tool", "here": "money"}
    return list_page(request, table, "billing/equipment/list.html", **context)


@GET_OR_POST
def equipment_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """Change a tool, or add one."""
    tool = get_object_or_404(Equipment, pk=pk) if pk else None
    return form_page(
        request,
        partial(EquipmentForm, instance=tool),
        heading=f"{tool}" if tool else "New tool or equipment",
        lead="Enter what you paid as an expense too. This list keeps track of what you own.",
        back=(reverse("billing:equipment-list"), "Tools and equipment"),
    )
