"""The address of a button, asked for like a page: reloaded, bookmarked, or reached after a login."""

from collections.abc import Callable

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import resolve

READING = ("GET", "HEAD")


def lead_to_the_page_above(get_response: Callable) -> Callable:
    """Answer a GET of an address that only takes a POST with the page above it: `/visits/7/` for
    `/visits/7/complete/`. Nothing is done."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if response.status_code == 405 and request.method in READING:
            return redirect(page_above(request.path))
        return response

    return answer


def page_above(path: str) -> str:
    """Return the nearest address above this one that leads to a page."""
    steps = path.strip("/").split("/")[:-1]
    while steps:
        above = f"/{'/'.join(steps)}/"
        try:
            resolve(above)
        except Http404:
            steps.pop()
        else:
            return above
    return "/"
