"""The mileage log: a month by vehicle, and any period as page, PDF and CSV."""

from datetime import date, timedelta
from decimal import Decimal

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.http import urlencode
from django.views.decorators.http import require_GET

from practice.forms.road import PeriodForm
from practice.lib.formats import counted, distance, month_name
from practice.lib.pdf import PdfUnavailable
from practice.lib.periods import Period, add_months, tax_year_around, within_reach
from practice.lib.profile import Profile
from practice.lib.today import today
from practice.models import Vehicle
from practice.papers.mileage_log import mileage_log_pdf
from practice.reports.mileage_log import log_csv, mileage_log, total_of, totals_by
from practice.reports.road_log import JUMP, month_log


def month_of(day: date) -> Period:
    """Return the month that a day is in."""
    begin = day.replace(day=1)
    return Period(begin, add_months(begin, 1) - timedelta(1))


def month_answer(logged: Decimal, issues: int, profile: Profile) -> str:
    """Return the heading of a month: `312.4 mi logged. 2 things to fix.`"""
    answer = f"{distance(logged, profile.distance_unit, profile.locale)} logged."
    return f"{answer} {counted(issues, 'thing')} to fix." if issues else answer


@require_GET
def month(request: HttpRequest, month: date | None = None) -> HttpResponse:
    """The log of a month, each vehicle with what has to be fixed; without a month, this one."""
    profile = Profile.for_request(request)
    span = month_of(month or today())
    logs = [month_log(vehicle, span, profile) for vehicle in Vehicle.objects.order_by("pk")]
    logs = [log for log in logs if not log.is_empty or not log.vehicle.archived]
    issues = [issue for log in logs for issue in log.issues]
    jump = next((issue for issue in issues if issue.kind == JUMP), None)
    logged = sum(log.total.logged for log in logs)
    context = {
        "month": span,
        "logs": logs,
        "subject": month_name(span.begin, profile.locale),
        "answer": month_answer(logged, len(issues), profile) if logs else "No vehicle yet.",
        "jump": jump,
        "others": [issue for issue in issues if issue != jump],
        "before": within_reach(add_months(span.begin, -1), today()),
        "after": add_months(span.begin, 1) if span.end < today() else None,
        "today": today(),
        "here": "road",
    }
    return render(request, "practice/road/month.html", context)


def period_asked(request: HttpRequest) -> tuple[PeriodForm, Period | None]:
    """Return the form of a period and the period; this tax year up to today where none is asked for."""
    profile = Profile.for_request(request)
    year = tax_year_around(today(), profile.country)
    asked = {"begin": request.GET.get("from"), "end": request.GET.get("to")}
    if None in asked.values():
        asked = {"begin": year.begin, "end": min(year.end, today())}
    form = PeriodForm(asked, profile=profile)
    return form, Period(form.cleaned_data["begin"], form.cleaned_data["end"]) if form.is_valid() else None


def estimated_drives(count: int) -> str:
    """Return `1 drive is`, `3 drives are`, or blank where there are none."""
    return f"{counted(count, 'drive')} {'is' if count == 1 else 'are'}" if count else ""


@require_GET
def log(request: HttpRequest) -> HttpResponse:
    """The totals of a period, and its log as PDF and CSV."""
    form, period = period_asked(request)
    rows = mileage_log(period.begin, period.end) if period else []
    context = {
        "form": form,
        "period": period,
        "total": total_of(rows),
        "totals": totals_by(rows, lambda row: (row.date.replace(day=1), row.vehicle)),
        "estimated": estimated_drives(sum(row.estimated for row in rows)),
        "asked": urlencode({"from": period.begin, "to": period.end}) if period else "",
        "here": "road",
    }
    return render(request, "practice/road/log.html", context)


@require_GET
def log_pdf(request: HttpRequest) -> HttpResponse:
    _, period = period_asked(request)
    if period is None:
        raise Http404
    try:
        content = mileage_log_pdf(period, Profile.for_request(request))
    except PdfUnavailable as error:
        return render(request, "parts/no_pdf.html", {"why": str(error)}, status=503)
    return attached(content, "application/pdf", period, "pdf", "inline")


@require_GET
def log_csv_file(request: HttpRequest) -> HttpResponse:
    _, period = period_asked(request)
    if period is None:
        raise Http404
    content = log_csv(mileage_log(period.begin, period.end))
    return attached(content, "text/csv; charset=utf-8", period, "csv", "attachment")


def attached(content: str | bytes, kind: str, period: Period, suffix: str, how: str) -> HttpResponse:
    response = HttpResponse(content, content_type=kind)
    name = f"mileage-{period.begin.isoformat()}-{period.end.isoformat()}.{suffix}"
    response["Content-Disposition"] = f'{how}; filename="{name}"'
    return response
