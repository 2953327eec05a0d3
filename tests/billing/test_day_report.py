"""The page of a day shows what closing it issues, and looks all of it up once."""

import re
from collections import Counter
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from billing.actions.invoicing import close_days
from billing.reports.closing import day_report
from billing.reports.drafts import due_drafts
from practice.lib.profile import Profile
from tests.factories.billing import ChargeFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, VisitFactory, trim

pytestmark = pytest.mark.django_db
D = Decimal
LAST_MONTH, MONTH_END = date(2026, 9, 30), date(2026, 10, 31)
TODAY = DAY + timedelta(days=30)


@pytest.fixture(autouse=True)
def practice():
    """A client by the day and one by the month, with work before, on and after the day, and charges."""
    ProfileFactory()
    daily, monthly = ClientFactory(name="Ann"), ClientFactory(name="Ben", billing="monthly")
    for client in (daily, monthly):
        for on in (LAST_MONTH, DAY - timedelta(2), DAY, MONTH_END):
            trim(client, on=on)
    trim(daily, on=DAY - timedelta(1), price="0")
    ChargeFactory(client=daily, date=DAY - timedelta(3), unit_price=D(-60))
    ChargeFactory(client=daily, date=DAY - timedelta(1), unit_price=D(-500))
    ChargeFactory(client=monthly, date=DAY, unit_price=D(25))
    VisitFactory(date=DAY, status="planned")


def plain(drafts) -> list[tuple]:
    return [
        (str(draft.client), draft.date, [(line.date, line.part) for line in draft.lines]) for draft in drafts
    ]


@pytest.mark.parametrize("on", [LAST_MONTH, DAY - timedelta(2), DAY - timedelta(1), DAY, MONTH_END])
def test_its_drafts_are_the_invoices_that_closing_the_day_issues(on):
    profile = Profile.current()

    shown = plain(day_report(on, profile, TODAY).drafts)
    issued = close_days(on, on, TODAY).invoices

    assert [(client, day) for client, day, _ in shown] == [(str(row.client), row.issued) for row in issued]
    assert [sum(part.net for _, part in lines) for *_, lines in shown] == [row.net for row in issued]


@pytest.mark.parametrize("closed", [None, LAST_MONTH, DAY - timedelta(2)])
def test_its_drafts_are_those_of_the_day_by_itself_line_by_line(closed):
    if closed:
        close_days(closed, closed, TODAY)
    profile = Profile.current()

    for on in (LAST_MONTH, DAY - timedelta(2), DAY - timedelta(1), DAY, MONTH_END):
        assert plain(day_report(on, profile, TODAY).drafts) == plain(due_drafts(on, on, profile, TODAY))


def test_what_is_billed_is_looked_up_once():
    with CaptureQueriesContext(connection) as asked:
        day_report(DAY, Profile.current(), TODAY)

    read = Counter(re.search(r'FROM "(\w+)"', query["sql"])[1] for query in asked)
    once = ("billing_price", "billing_taxrate", "practice_leg", "practice_owner", "billing_billto")
    assert {table: read[table] for table in once} == dict.fromkeys(once, 1)
