"""Rows that the addresses of several views name."""

from django.shortcuts import get_object_or_404

from practice.models import Visit


def get_visit(pk: int) -> Visit:
    """Return a stop with its place and where its vehicle keeps things. Raises Http404."""
    return get_object_or_404(Visit.objects.select_related("place", "vehicle__location"), pk=pk)
