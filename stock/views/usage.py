"""What is used of each size, season by season, and what lies idle."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from practice.lib.today import today
from stock.models import ItemKind
from stock.reports.levels import on_hand
from stock.reports.usage import idle, usage


@require_GET
def usage_page(request: HttpRequest) -> HttpResponse:
    """What was used in the last four quarters by kind, pattern and size; then slow and dead stock."""
    spans, rows = usage(today())
    left = on_hand()
    groups = [
        (
            label,
            [
                (row, list(zip(spans, row.used, strict=True)), left.get(row.item.pk, 0))
                for row in rows
                if row.item.kind == kind
            ],
        )
        for kind, label in ItemKind.choices
    ]
    context = {
        "spans": spans,
        "groups": [(label, rows) for label, rows in groups if rows],
        "idle": idle(today()),
        "here": "truck",
    }
    return render(request, "stock/usage.html", context)
