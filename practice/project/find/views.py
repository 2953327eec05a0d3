"""The search: a page without JavaScript, and what opens below the field at the top of every page."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from practice.lib.addresses import search_words
from practice.lib.pages import render_page
from practice.lib.profile import Profile
from practice.lib.today import today
from practice.project.find.found import SHOWN, SHOWN_BELOW_THE_FIELD, find_all

BELOW_THE_FIELD = "hits"


@require_GET
def find(request: HttpRequest) -> HttpResponse:
    """Find a horse, client, place, item, invoice, credit note, or order."""
    is_below = request.htmx.target == BELOW_THE_FIELD
    most = SHOWN_BELOW_THE_FIELD if is_below else SHOWN
    found = find_all(search_words(request), today(), Profile.for_request(request), most)
    partial = "parts/hits.html" if is_below else "parts/found.html"
    return render_page(request, "find.html", {"found": found}, partial=partial)
