"""Home: is today closed, who is due next, what runs low, who owes."""

from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from billing.reports.closing import day_report
from billing.reports.receivable import who_owes
from practice.lib.profile import Profile
from practice.lib.today import today
from practice.models import Client, Horse, Place
from practice.reports.due import due_places
from practice.reports.planner import plan_on
from practice.views.round import parts_of

FIRST = 4


@require_GET
def home(request: HttpRequest) -> HttpResponse:
    profile, now = Profile.for_request(request), today()
    report = day_report(now, profile, now)
    owing = who_owes()
    context = {
        "today": now,
        "report": report,
        "total": report.total(profile.currency),
        "waiting": sum((row.net for row in report.waiting), Decimal(0)),
        "parts": [part for part in parts_of(now, profile) if part.visits],
        "due": due_places(now)[:FIRST],
        "low": plan_on(now).to_order[:FIRST],
        "owing": [(row, row.days_late(now)) for row in owing[:FIRST]],
        "owed": sum((row.open for row in owing), Decimal(0)),
        "begin": None if profile.name and Horse.objects.exists() else first_steps(profile),
    }
    return render(request, "home.html", context)


def first_steps(profile: Profile) -> list[tuple[str, str, bool]]:
    """Return what an empty book asks for, as (URL name, words, done)."""
    from billing.models import Price

    return [
        (
            "practice:settings",
            "Write down the practice: its name, currency and how you charge",
            bool(profile.name),
        ),
        ("practice:service-list", "Say what you do and what it costs", Price.objects.exists()),
        ("practice:client-list", "Add who pays", Client.objects.exists()),
        ("practice:place-list", "Add where horses stand", Place.objects.exists()),
        ("practice:horse-all", "Add the horses with their owners", Horse.objects.exists()),
    ]
