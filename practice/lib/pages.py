"""Pages, whole or in part."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers


def render_page(
    request: HttpRequest, template: str, context: dict, partial: str | None = None, status: int = 200
) -> HttpResponse:
    """Answer with the page, or with its `partial` alone where htmx asked for that."""
    htmx = request.htmx
    part = partial and htmx and not htmx.boosted and not htmx.history_restore_request
    response = render(request, partial if part else template, context, status=status)
    patch_vary_headers(response, ["HX-Request"])
    return response
