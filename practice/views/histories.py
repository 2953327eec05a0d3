"""All that was done at a place or to a horse, page by page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from practice.lib.things import list_page
from practice.models import Horse, Place, Visit
from practice.reports.history import visits_with
from practice.tables import HorseVisitTable, PlaceVisitTable


@require_GET
def place_visits(request: HttpRequest, pk: int) -> HttpResponse:
    """All visits to a place, the latest first."""
    place = get_object_or_404(Place, pk=pk)
    shown = Visit.objects.for_history().filter(place=place)
    context = {"place": place, "total": shown.count(), "here": "horses"}
    return list_page(request, PlaceVisitTable(shown), "practice/places/visits.html", **context)


@require_GET
def horse_history(request: HttpRequest, pk: int) -> HttpResponse:
    """All visits to a horse, the latest first."""
    horse = get_object_or_404(Horse, pk=pk)
    shown = visits_with(horse)
    context = {"horse": horse, "total": shown.count(), "here": "horses"}
    return list_page(request, HorseVisitTable(shown, horse=horse), "practice/horses/history.html", **context)
