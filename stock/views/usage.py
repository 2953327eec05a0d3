"""What is used of each size, season by season, and what sits idle."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from practice.lib.today import today
from stock.reports.usage import usage_report


@require_GET
def usage_page(request: HttpRequest) -> HttpResponse:
    """What was used in the last four quarters by kind, pattern and size; then slow and dead stock."""
    return render(request, "stock/usage.html", {"usage": usage_report(today()), "here": "truck"})
