"""What was in stock on any day and what it was worth: a page, and the same as CSV."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from practice.lib.forms import BookForm, DayField
from practice.lib.profile import Profile
from practice.lib.spreadsheet_cells import csv_text
from practice.lib.today import today
from stock.reports.shelf_value import shelf_on


class DayForm(BookForm):
    on = DayField(label="At the end of")


@require_GET
def shelf_value(request: HttpRequest) -> HttpResponse:
    profile = Profile.for_request(request)
    form = DayForm(request.GET if "on" in request.GET else {"on": today()}, profile=profile)
    context = {"form": form, "shelf": shelf_on(form.cleaned_data["on"]) if form.is_valid() else None}
    return render(request, "stock/shelf_value.html", context | {"here": "truck"})


@require_GET
def shelf_value_csv(request: HttpRequest) -> HttpResponse:
    """The rows as CSV (RFC 4180): plain numbers with a point, values with four decimals."""
    form = DayForm(request.GET, profile=Profile.for_request(request))
    if not form.is_valid():
        return HttpResponse(
            "Type a date in the address, such as ?on=2026-10-14.", status=400, content_type="text/plain"
        )
    shelf = shelf_on(form.cleaned_data["on"])
    rows = [["date", "item", "name", "kind", "pattern", "size", "location", "quantity", "unit", "value"]]
    for row in shelf.rows:
        item, location = row.item, row.location
        words = [item.key, item.name, item.kind, item.pattern, item.size, location.name if location else ""]
        rows.append([shelf.on, *words, f"{row.quantity:f}", item.unit, f"{row.value:.4f}"])
    response = HttpResponse(csv_text(rows), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="shelf-{shelf.on.isoformat()}.csv"'
    return response
