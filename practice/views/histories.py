"""All that was done at a place or to a horse, page by page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from practice.lib.things import list_page
from practice.models import Place, Visit
from practice.tables import PlaceVisitTable


@require_GET
def place_visits(request: HttpRequest, pk: int) -> HttpResponse:
    """All visits to a place, the latest first."""
    place = get_object_or_404(Place, pk=pk)
    shown = Visit.objects.for_history().filter(place=place)
    context = {"place": place, "total": shown.count(), "here": "horses"}
    return list_page(request, PlaceVisitTable(shown), "practice/places/visits.html", **context)
