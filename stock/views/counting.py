"""Counting: what to count and why, a location's sheet on the phone and on paper, its differences."""

from functools import partial

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from practice.lib import formats
from practice.lib.pages import GET_OR_POST
from practice.lib.pdf import PdfUnavailable, render_pdf
from practice.lib.profile import Profile
from practice.lib.things import do
from practice.lib.today import today
from stock.actions.counting import post_counts, review_counts, save_counts
from stock.forms.counting import SheetForm
from stock.models import Location
from stock.papers.counting import count_paper
from stock.reports.counting import count_sheets, sheet_of, things_to_count


def location_of(key: int) -> Location | None:
    """Return the location of an address: 0 is the one shelf of a practice without locations. Or Http404."""
    if key:
        return get_object_or_404(Location, pk=key)
    if Location.objects.exists():
        raise Http404
    return None


@require_GET
def count_list(request: HttpRequest) -> HttpResponse:
    """What to count, with reasons, and the sheet of each location."""
    items = things_to_count(today())
    heading = f"{formats.counted(len(items), 'item')} to count." if items else "Nothing needs counting."
    context = {"items": items, "heading": heading, "sheets": count_sheets(), "here": "truck"}
    return render(request, "stock/counting/list.html", context)


@GET_OR_POST
def count_sheet(request: HttpRequest, key: int) -> HttpResponse:
    """A location's sheet, filled in in any order. What can be read is saved, whatever else is wrong."""
    if request.method == "GET":
        return fill_sheet(request, key)
    with transaction.atomic():
        Profile.locked()  # whoever fills in the same sheet on another device waits here
        return fill_sheet(request, key)


def fill_sheet(request: HttpRequest, key: int) -> HttpResponse:
    """Save what was typed on a sheet, if anything was, and show what comes next."""
    location = location_of(key)
    sheet, profile = sheet_of(location), Profile.for_request(request)
    make = partial(SheetForm, sheet=sheet, save_at=request.path, profile=profile, initial={"date": today()})
    form = make(request.POST) if request.method == "POST" else make()
    if request.method == "POST":
        only = request.htmx.trigger_name if request.htmx else None
        form.full_clean()
        if "date" not in form.errors:
            save_counts(location, form.cleaned_data["date"], form.typed(only))
        if only:
            return _saved_line(request, location, form, only)
        if form.is_valid() and "look" in request.POST:
            return redirect("stock:count-review", key)
        if form.is_valid():
            messages.success(request, "Saved.")
            return redirect("stock:count-sheet", key)
        if "date" not in form.errors:
            form.mark_saved()
    return render(request, "stock/counting/sheet.html", {"form": form, "key": key, "name": sheet.name})


def _saved_line(request: HttpRequest, location: Location | None, form: SheetForm, name: str) -> HttpResponse:
    """Answer one line typed on the sheet: that it is saved, or what is wrong with it."""
    again = SheetForm(sheet=sheet_of(location), profile=form.profile)
    line = next((line for line in again.sheet.lines if name.endswith(f"_{line.item.pk}")), None)
    errors = [*form.errors.get("date", []), *form.errors.get(name, [])]
    shown = form if errors else again
    context = {"row": shown.row(line) if line else None, "errors": errors, "saved": not errors}
    return render(request, "stock/counting/_saved.html", context)


@require_GET
def count_review(request: HttpRequest, key: int) -> HttpResponse:
    """What posting a sheet would change."""
    review = review_counts(location_of(key))
    context = {"review": review, "key": key, "name": review.sheet.name}
    return render(request, "stock/counting/review.html", context)


@require_POST
def count_post(request: HttpRequest, key: int) -> HttpResponse:
    location = location_of(key)
    return do(request, post_counts, location, message="Count saved.", then=reverse("stock:count-list"))


@require_GET
def count_paper_file(request: HttpRequest, key: int) -> HttpResponse:
    """The sheet on paper, to be filled in with a pencil."""
    paper = count_paper(sheet_of(location_of(key)), today(), Profile.for_request(request))
    try:
        content = render_pdf("pdf/count_sheet.html", {"paper": paper})
    except PdfUnavailable as error:
        return render(request, "parts/no_pdf.html", {"why": str(error)}, status=503)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="count-{key}.pdf"'
    return response
