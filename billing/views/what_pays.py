"""What pays: the year seen by client, place, horse and service."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from billing.reports.what_pays import what_paid
from billing.rules.paying import CLIENT, HORSE, PLACE, SERVICE
from practice.lib.charts import columns
from practice.lib.periods import tax_year, tax_year_of
from practice.lib.profile import Profile
from practice.lib.today import today

VIEWS = {PLACE: "Places", CLIENT: "Clients", HORSE: "Horses", SERVICE: "Services"}
PAGE_OF = {
    PLACE: "practice:place-detail",
    CLIENT: "practice:client-detail",
    HORSE: "practice:horse-detail",
    SERVICE: "billing:service-prices",
}
MOST_COLUMNS = 10


@require_GET
def what_pays_page(request: HttpRequest, year: int | None = None) -> HttpResponse:
    """What an hour and a mile brought in; `?by=` chooses between places, clients, horses and services."""
    profile = Profile.for_request(request)
    this = tax_year_of(today(), profile.country)
    year = this if year is None else year
    try:
        period = tax_year(year, profile.country)
    except ValueError as error:
        raise Http404(str(error)) from error
    by = request.GET.get("by", PLACE)
    by = by if by in VIEWS else PLACE
    found = what_paid(period, profile)
    rows = [(row, reverse(PAGE_OF[by], args=[row.thing.pk])) for row in found.views.get(by, [])]
    known = [row for row, _ in rows if row.an_hour is not None]
    ends = (
        known if len(known) <= MOST_COLUMNS else [*known[: MOST_COLUMNS // 2], *known[-MOST_COLUMNS // 2 :]]
    )
    context = {
        "found": found,
        "period": period,
        "year": year,
        "years": [this - n for n in range(3)],
        "by": by,
        "views": VIEWS.items(),
        "rows": rows,
        "charted": ends,
        "chart": columns([row.an_hour for row in ends], [str(n) for n, _ in enumerate(ends, start=1)]),
        "here": "money",
    }
    return render(request, "billing/what_pays.html", context)
