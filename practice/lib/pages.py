"""Pages, whole or in part, and what views of all parts share."""

from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.cache import patch_vary_headers
from django.views.decorators.http import require_http_methods

GET_OR_POST = require_http_methods(["GET", "POST"])


def round_url(on: date) -> str:
    """Return the address of a day's round."""
    return reverse("practice:round", args=[on.isoformat()])


def render_page(
    request: HttpRequest, template: str, context: dict, partial: str | None = None, status: int = 200
) -> HttpResponse:
    """Answer with the page, or with its `partial` alone where htmx asked for that.

    A boosted link asks for the partial where it names an element to swap, else for the page.
    """
    htmx = request.htmx
    part = partial and htmx and not htmx.history_restore_request and (htmx.target or not htmx.boosted)
    response = render(request, partial if part else template, context, status=status)
    patch_vary_headers(response, ["HX-Request", "HX-Target"])
    return response
