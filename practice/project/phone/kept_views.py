"""What the phone is told to keep, and the page on which it shows what it has."""

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from practice.lib.pages import round_url
from practice.lib.today import today
from practice.project.context import device_name
from practice.project.phone.kept import days_kept, kept_pages, stamp_on
from practice.project.phone.program import version


@require_GET
def kept_list(request: HttpRequest) -> HttpResponse:
    """The pages to keep: `stamp` is another one as soon as one of them may be."""
    login = device_name(request.user)
    return JsonResponse(
        {
            "stamp": stamp_on(today(), f"{login} {version()}"),
            "login": login,
            "rounds": [round_url(day) for day in days_kept(today())],
            "addresses": [{"path": page.path, "what": page.what} for page in kept_pages(today())],
        }
    )


@require_GET
def kept_page(request: HttpRequest) -> HttpResponse:
    """What this phone keeps; js/keeping.js says of each page whether it is here."""
    return render(request, "phone/kept.html", {"pages": kept_pages(today())})
