"""The client's own page: a signed link to one invoice or statement, which expires and can be ended.

Headers: X-Robots-Tag (RFC 9309's companion, Google's "Robots meta tag" specification), Referrer-Policy (W3C),
Cache-Control (RFC 9111, 5.2.2.5 no-store and 5.2.2.7 private).
"""

import re
import uuid
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.signing import Signer

from billing.actions.payments import record_payment
from billing.actions.sharing import end_link, share_invoice, share_statement
from billing.models import SharedLink
from billing.reports.shared import token_of
from practice.lib.periods import Period
from practice.project.backup.contents import EMPTIED
from practice.reports.shared_history import shared_history
from tests.factories.billing import InvoiceFactory
from tests.factories.mail import NOON
from tests.factories.practice import (
    DAY,
    ClientFactory,
    OwnerFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
    trim,
)

pytestmark = pytest.mark.django_db
D = Decimal
LAST = DAY + timedelta(30)


@pytest.fixture(autouse=True)
def practice(settings):
    settings.TODAY = DAY
    return ProfileFactory(pay_note="By mail: check to Garrow Farriery")


def link_to(invoice=None, **facts) -> SharedLink:
    return share_invoice(invoice or InvoiceFactory(number="A-1", net=D(172)), LAST, NOON, **facts)


def any_link() -> SharedLink:
    return link_to(InvoiceFactory())


def path_of(link) -> str:
    return f"/shared/{token_of(link)}/"


def text_of(answer) -> str:
    return re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", answer.content.decode()))


def test_a_client_sees_the_invoice_what_is_owed_and_how_to_pay_without_a_login(client):
    link = link_to()
    record_payment(link.client, DAY, D(100), "cash")

    page = text_of(client.get(path_of(link)))

    assert "$72.00 due by October 14, 2026." in page
    assert "Invoice A-1" in page
    assert "check to Garrow Farriery" in page


def test_what_is_paid_says_so_and_not_how_to_pay(client):
    link = link_to()
    record_payment(link.client, DAY, D(172), "cash")

    page = text_of(client.get(path_of(link)))

    assert "Nothing is left to pay." in page
    assert "How to pay" not in page


def test_a_statement_is_shown_for_its_days(client):
    invoice = InvoiceFactory(number="A-1", net=D(172))
    InvoiceFactory(client=invoice.client, number="A-2", issued=DAY - timedelta(90), net=D(9))
    link = share_statement(invoice.client, Period(DAY - timedelta(7), DAY), LAST, NOON)

    page = text_of(client.get(path_of(link)))

    assert "Balance due: $181.00" in page
    assert "Opening balance 9.00" in page


def statement_link() -> SharedLink:
    return share_statement(ClientFactory(), Period(DAY, DAY), LAST, NOON)


@pytest.mark.parametrize("make", [link_to, statement_link])
def test_the_document_opens_as_pdf(client, make):
    answer = client.get(f"{path_of(make())}pdf/")

    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-")


@pytest.mark.parametrize("more", ["", "pdf/"])
def test_nobody_keeps_indexes_or_passes_on_the_address(client, more):
    answer = client.get(path_of(link_to()) + more)

    told = {name: answer[name] for name in ("X-Robots-Tag", "Referrer-Policy", "Cache-Control")}
    assert told == {
        "X-Robots-Tag": "noindex, nofollow, noarchive",
        "Referrer-Policy": "no-referrer",
        "Cache-Control": "private, no-store",
    }
    assert not answer.cookies


def test_the_page_leads_nowhere_but_to_its_pdf(client):
    path = path_of(link_to(with_history=True))

    page = client.get(path).content.decode()

    assert re.findall(r'<a [^>]*href="([^"]*)"', page) == [f"{path}pdf/"]
    assert '<meta name="robots" content="noindex, nofollow, noarchive">' in page
    assert "<form" not in page and "<script" not in page and "Roundbook" not in page


# What does not open


def expired() -> str:
    return token_of(share_invoice(InvoiceFactory(), DAY - timedelta(1), NOON))


def ended() -> str:
    link = any_link()
    end_link(link, NOON)
    return token_of(link)


def altered() -> str:
    token = token_of(any_link())
    return token[:-1] + ("a" if token[-1] != "a" else "b")


def of_another_client() -> str:
    mine, theirs = token_of(any_link()), token_of(any_link())
    return f"{theirs.split('.')[0]}.{mine.split('.')[1]}"


def signed_for_something_else() -> str:
    return Signer(sep=".", salt="something else").sign(any_link().uuid.hex)


def never_made() -> str:
    return token_of(SharedLink(uuid=uuid.uuid4()))


@pytest.mark.parametrize("more", ["", "pdf/"])
def test_whatever_is_wrong_the_answer_is_the_same(client, more):
    wrong = [expired, ended, altered, of_another_client, signed_for_something_else, never_made, lambda: "x"]

    answers = [client.get(f"/shared/{make()}/{more}") for make in wrong]

    seen = {(answer.status_code, answer.content, tuple(sorted(answer.headers.items()))) for answer in answers}
    assert len(seen) == 1
    assert answers[0].status_code == 404
    assert answers[0]["Cache-Control"] == "private, no-store"
    assert not answers[0].cookies


@pytest.mark.parametrize(("days", "status"), [(30, 200), (31, 404)])
def test_a_link_opens_through_its_last_day(client, settings, days, status):
    link = link_to()
    settings.TODAY = DAY + timedelta(days)

    assert client.get(path_of(link)).status_code == status


def test_a_link_signed_with_another_key_opens_nothing(client):
    """As in a book that was restored on another machine: the key is in no backup."""
    token = Signer(key="another", sep=".", salt="shared link").sign(link_to().uuid.hex)

    assert client.get(f"/shared/{token}/").status_code == 404


def test_a_copy_of_the_book_holds_no_link():
    assert SharedLink._meta.db_table in EMPTIED


# Made and ended


def test_a_link_is_made_on_the_invoices_page_and_its_opening_is_noted(browser, client):
    invoice = InvoiceFactory()

    made = browser.post(f"/invoices/{invoice.pk}/share/", {"days": "7", "with_history": "on"})
    [link] = SharedLink.objects.all()
    client.logout()
    client.get(path_of(link))

    link.refresh_from_db()
    assert made.url == link.get_absolute_url()
    assert (link.expires_on, link.with_history, link.invoice) == (DAY + timedelta(7), True, invoice)
    assert link.opened_at is not None


def test_a_link_to_a_statement_stands_on_its_page(browser):
    person = ClientFactory()
    days = f"{DAY.isoformat()}/{DAY.isoformat()}"

    browser.post(f"/clients/{person.pk}/statement/{days}/share/", {"days": "30"})

    [link] = SharedLink.objects.all()
    page = browser.get(f"/clients/{person.pk}/statement/?begin={DAY}&end={DAY}").context
    assert [(row.url, row.fact) for row in page["links"]] == [(link.get_absolute_url(), "works")]
    assert (link.begin, link.end, link.with_history) == (DAY, DAY, False)


def test_an_ended_link_stays_listed_and_shows_no_address(browser):
    link = link_to()

    browser.post(f"/links/{link.pk}/end/")

    page = browser.get(link.get_absolute_url())
    assert page.context["page"].heading == "Invoice A-1: ended."
    assert token_of(link) not in page.content.decode()
    links = browser.get(link.invoice.get_absolute_url()).context["page"].links
    assert [row.fact for row in links] == ["ended"]


@pytest.mark.parametrize(
    ("public", "begins", "only_here"),
    [
        ("", "http://testserver/shared/", True),
        ("https://book.example", "https://book.example/shared/", False),
    ],
)
def test_the_page_of_a_link_says_who_can_open_it(browser, settings, public, begins, only_here):
    settings.PUBLIC_ADDRESS = public

    page = browser.get(link_to().get_absolute_url())

    assert page.context["page"].address.startswith(begins)
    assert ("opened on this machine only" in text_of(page)) is only_here


# The horses' history


def test_the_history_holds_the_days_and_services_since_the_client_became_an_owner():
    owner = ClientFactory()
    horse = OwnerFactory(client=owner, valid_from=DAY).horse
    for day in (DAY - timedelta(7), DAY):
        visit = VisitFactory(date=day, status="done")
        WorkFactory(visit=visit, horse=horse, service__name="Reset", note="Kicks")
    WorkFactory(visit=VisitFactory(date=DAY, status="planned"), horse=horse, service__name="Pads")

    [shown] = shared_history(owner, DAY, "en-US")

    assert (shown.horse, shown.visits) == (horse, [("October 14, 2026", "Reset")])


@pytest.mark.parametrize(("with_history", "shown"), [(True, True), (False, False)])
def test_the_history_is_shown_only_where_the_farrier_shares_it(client, with_history, shown):
    invoice = InvoiceFactory()
    work = trim(invoice.client)

    page = text_of(client.get(path_of(link_to(invoice, with_history=with_history))))

    assert (f" {work.horse.name} " in page) is shown


def test_a_horse_that_was_sold_to_somebody_else_is_not_shown():
    owner = ClientFactory()
    OwnerFactory(client=owner, valid_to=DAY - timedelta(1))

    assert shared_history(owner, DAY, "en-US") == []
