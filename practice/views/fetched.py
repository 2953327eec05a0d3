"""Rows that the addresses of several views name; one that is only on a phone so far is made up."""

from django.shortcuts import get_object_or_404

from practice.lib.addresses import NOT_IN_BOOK
from practice.models import Horse, Visit
from practice.reports.on_phone import horse_on_phone, stop_on_phone


def get_visit(pk: int | None) -> Visit:
    """Return a stop with its place and where its vehicle keeps things. Raises Http404."""
    if pk == NOT_IN_BOOK:
        return stop_on_phone()
    return get_object_or_404(Visit.objects.select_related("place", "vehicle__location"), pk=pk)


def get_horse_at(visit: Visit, pk: int) -> Horse:
    """Return a horse of the book, or the one that a phone adds at a stop. Raises Http404."""
    return horse_on_phone(visit) if pk == NOT_IN_BOOK else get_object_or_404(Horse, pk=pk)
