"""Counting: what to count and why, a place's sheet on the phone and on paper, its differences."""

from decimal import Decimal
from functools import partial

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from practice.lib.errors import RuleBroken
from practice.lib.pages import GET_OR_POST
from practice.lib.pdf import PdfUnavailable, render_pdf
from practice.lib.profile import Profile
from practice.lib.things import do
from practice.lib.today import today
from stock.actions.counting import keep_found, post_counts, try_counts
from stock.forms.counting import SheetForm
from stock.models import Location
from stock.reports.counting import begun, places, sheet_of, things_to_count

SHELF = "The shelf"


def place_of(key: int) -> Location | None:
    """Return the place of an address: 0 is the one shelf of a practice without locations."""
    if key:
        return get_object_or_404(Location, pk=key)
    if Location.objects.exists():
        raise Http404
    return None


@require_GET
def count_list(request: HttpRequest) -> HttpResponse:
    """What to count, with reasons, and the sheet of each place."""
    filled = begun()
    context = {
        "things": things_to_count(today()),
        "places": [
            (place.pk if place else 0, place or SHELF, filled.get(place.pk if place else None, 0))
            for place in places()
        ],
        "here": "truck",
    }
    return render(request, "stock/counting/list.html", context)


@GET_OR_POST
def count_sheet(request: HttpRequest, place: int) -> HttpResponse:
    """The sheet of a place, filled in in any order. What can be read is kept, whatever else is wrong."""
    location = place_of(place)
    sheet, profile = sheet_of(location), Profile.for_request(request)
    make = partial(SheetForm, sheet=sheet, keep_at=request.path, profile=profile, initial={"date": today()})
    form = make(request.POST) if request.method == "POST" else make()
    if request.method == "POST":
        only = request.htmx.trigger_name if request.htmx else None
        form.full_clean()
        if "date" not in form.errors:
            keep_found(location, form.cleaned_data["date"], form.typed(only))
        if only:
            return _said(request, location, form, only)
        if form.is_valid() and "look" in request.POST:
            return redirect("stock:count-review", place)
        if form.is_valid():
            messages.success(request, "Kept.")
            return redirect("stock:count-sheet", place)
        if "date" not in form.errors:
            form.mark_kept()
    context = {"form": form, "sheet": sheet, "place": place, "name": location or SHELF}
    return render(request, "stock/counting/sheet.html", context)


def _said(request: HttpRequest, location: Location | None, form: SheetForm, name: str) -> HttpResponse:
    """Answer one line typed on the sheet: that it is kept, or what is wrong with it."""
    again = SheetForm(sheet=sheet_of(location), profile=form.profile)
    line = next((line for line in again.sheet.lines if name.endswith(f"_{line.item.pk}")), None)
    errors = [*form.errors.get("date", []), *form.errors.get(name, [])]
    shown = again if not errors else form
    row = shown.row(line) if line else None
    return render(request, "stock/counting/_said.html", {"row": row, "errors": errors, "kept": not errors})


@require_GET
def count_review(request: HttpRequest, place: int) -> HttpResponse:
    """What posting a sheet would change."""
    location = place_of(place)
    sheet, differences, wrong = sheet_of(location), [], ""
    try:
        differences = try_counts(location)
    except RuleBroken as error:
        wrong = str(error)
    context = {
        "differences": [row for row in differences if row.quantity or row.cost],
        "same": [row for row in differences if not row.quantity and not row.cost],
        "counted": len(differences),
        "worth": sum((row.cost for row in differences), Decimal(0)),
        "left": len(sheet.lines) - len(sheet.filled),
        "wrong": wrong,
        "date": sheet.on,
        "place": place,
        "name": location or SHELF,
    }
    return render(request, "stock/counting/review.html", context)


@require_POST
def count_post(request: HttpRequest, place: int) -> HttpResponse:
    location = place_of(place)
    said = f"Counted: {location or SHELF}."
    return do(request, post_counts, location, message=said, then=reverse("stock:count-list"))


@require_GET
def count_paper(request: HttpRequest, place: int) -> HttpResponse:
    """The sheet on paper, to be filled in with a pencil. It does not say what the book expects."""
    location, profile = place_of(place), Profile.for_request(request)
    paper = {
        "language": profile.locale,
        "size": profile.home_country.paper,
        "practice_name": profile.name,
        "place": str(location or SHELF),
        "date": today(),
    }
    try:
        content = render_pdf(
            "pdf/count_sheet.html", {"paper": paper, "sheet": sheet_of(location), "profile": profile}
        )
    except PdfUnavailable as error:
        messages.error(request, str(error))
        return redirect("stock:count-sheet", place)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="count-{place}.pdf"'
    return response
