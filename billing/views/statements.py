"""A client's statement: on a page, and as PDF."""

from datetime import date, timedelta
from functools import partial

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from billing.forms.statements import StatementForm
from billing.models import AccountDay, SharedLink
from billing.papers.statement import statement_file_name, statement_paper, statement_pdf
from billing.reports.mail_state import mail_about_statement
from billing.reports.shared import link_rows
from billing.reports.statement import Statement, statement_of
from practice.lib.formats import day_and_month, money
from practice.lib.pdf_answers import pdf_response
from practice.lib.periods import Period, add_months, tax_year_around
from practice.lib.profile import Profile
from practice.lib.today import today
from practice.models import Client


@require_GET
def statement_page(request: HttpRequest, pk: int) -> HttpResponse:
    """A client's account in the days asked for, else in the last three months."""
    client, profile = get_object_or_404(Client, pk=pk), Profile.for_request(request)
    spans = spans_of(client, profile)
    asked = bool(request.GET.get("begin") or request.GET.get("end"))
    usual = dict(spans)["Three months"]
    data = request.GET if asked else {"begin": usual.begin.isoformat(), "end": usual.end.isoformat()}
    form, statement = StatementForm(data, profile=profile), None
    if form.is_valid():
        statement = statement_of(client, Period(form.cleaned_data["begin"], form.cleaned_data["end"]))
    context = {
        "client": client,
        "form": form,
        "statement": statement,
        "paper": statement and statement_paper(statement, for_practice=True),
        "heading": heading_of(statement, profile, client),
        **(parts_of(statement, profile) if statement else {}),
        "spans": spans,
        "here": "money",
    }
    return render(request, "billing/clients/statement.html", context)


def parts_of(statement: Statement, profile: Profile) -> dict:
    """Return how a statement is sent and shared, and who got it."""
    client, days = statement.client, statement.period
    return {
        "mail": mail_about_statement(statement, profile, today()),
        "links": link_rows(SharedLink.objects.of_statement(client, days), profile, today()),
        "share_url": reverse("billing:statement-share", args=[client.pk, days.begin, days.end]),
    }


def spans_of(client: Client, profile: Profile) -> list[tuple[str, Period]]:
    """Return the periods that a statement is usually for, each with its words; none ends after today."""
    on = today()
    month, year = on.replace(day=1), tax_year_around(on, profile.country)
    before = month - timedelta(1)
    last_year = tax_year_around(year.begin - timedelta(1), profile.country)
    first = AccountDay.objects.filter(client=client).order_by("date").first()
    return [
        ("This month", Period(month, on)),
        ("Last month", Period(before.replace(day=1), before)),
        ("Three months", Period(add_months(month, -2), on)),
        ("This year", Period(year.begin, on)),
        ("Last year", last_year),
        ("From the beginning", Period(min(first.date, on) if first else year.begin, on)),
    ]


def heading_of(statement: Statement | None, profile: Profile, client: Client) -> str:
    """Return what the client owes at the end of the statement, in one sentence."""
    if statement is None:
        return "Choose the dates."
    balance, end = statement.course.closing, statement.period.end
    some = money(abs(balance), profile.currency, profile.locale)
    owed, has_credit = some if balance else "nothing", f"{some} of credit"
    if end == today():
        return f"{client} has {has_credit}." if balance < 0 else f"{client} owes {owed}."
    on = day_and_month(end, profile.locale, today())
    return f"{client} had {has_credit} on {on}." if balance < 0 else f"{client} owed {owed} on {on}."


@require_GET
def statement_document(request: HttpRequest, pk: int, first: date, last: date) -> HttpResponse:
    """A statement as PDF."""
    statement = asked_statement(pk, first, last)
    return pdf_response(request, partial(statement_pdf, statement), statement_file_name(statement))


def asked_statement(pk: int, first: date, last: date) -> Statement:
    """Return the statement that an address names. Raises Http404 where it ends before it begins or ahead."""
    if not first <= last <= today():
        raise Http404
    return statement_of(get_object_or_404(Client, pk=pk), Period(first, last))
