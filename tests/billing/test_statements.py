"""A client's statement: what moved the account, the balance after it, and what is open at its end."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from billing.actions.crediting import issue_credit_note
from billing.actions.payments import record_payment
from billing.actions.settling import account_of
from billing.models import Invoice
from billing.papers.statement import statement_paper
from billing.reports.statement import statement_of
from billing.rules.settling import Bill, CreditNoteValue, Paid, settle
from billing.rules.statements import CREDIT_NOTE, INVOICE, PAYMENT, REFUND, Move, course_of
from practice.lib.pdf import render_html
from practice.lib.periods import Period
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import ClientFactory, ProfileFactory

D = Decimal
MAY, JUNE, JULY, AUGUST = (date(2026, month, 4) for month in (5, 6, 7, 8))


def test_a_statement_carries_what_was_before_and_leaves_out_what_comes_after():
    moves = [
        Move(AUGUST, INVOICE, 2, D(40)),
        Move(JUNE, PAYMENT, 1, D(-60)),
        Move(MAY, INVOICE, 1, D(100)),
    ]

    course = course_of(moves, JUNE, JULY)

    assert course.opening == D(100)
    assert [(row.move.date, row.balance) for row in course.rows] == [(JUNE, D(40))]
    assert course.closing == D(40)


def test_what_is_of_one_day_stands_in_the_order_in_which_it_is_settled():
    kinds = [REFUND, PAYMENT, CREDIT_NOTE, INVOICE]

    course = course_of([Move(MAY, kind, 1, D(1)) for kind in kinds], MAY, MAY)

    assert [row.move.kind for row in course.rows] == [INVOICE, CREDIT_NOTE, PAYMENT, REFUND]


days = st.integers(1, 9).map(lambda day: date(2026, 5, day))
amounts = st.integers(1, 60).map(D)
paid = st.tuples(days, st.one_of(amounts, amounts.map(lambda amount: -amount)))


@settings(max_examples=60)
@given(
    st.lists(st.tuples(days, amounts, st.integers(0, 100)), max_size=5),
    st.lists(paid, max_size=6),
    days,
)
def test_the_balance_is_what_the_settling_leaves_open_less_credit(bills, payments, split):
    notes = [(key, day, D(int(total) * part // 100)) for key, (day, total, part) in enumerate(bills)]
    outcome = settle(
        [Bill(key, f"{key}", day, total) for key, (day, total, _) in enumerate(bills)],
        [Paid(key, key, day, amount) for key, (day, amount) in enumerate(payments)],
        [CreditNoteValue(key, day, total) for key, day, total in notes if total],
    )
    moves = [
        *(Move(day, INVOICE, key, total) for key, (day, total, _) in enumerate(bills)),
        *(Move(day, CREDIT_NOTE, key, -total) for key, day, total in notes),
        *(Move(day, PAYMENT, key, -amount) for key, (day, amount) in enumerate(payments)),
    ]

    whole = course_of(moves, date(2026, 5, 1), date(2026, 5, 31))
    first, second = course_of(moves, date.min, split), course_of(moves, split + timedelta(1), date.max)

    settled = sum((row.amount for row in outcome.rows), D(0))
    open_ = sum((total for _, total, _ in bills), D(0)) - sum((row[2] for row in notes), D(0)) - settled
    assert whole.closing == open_ - sum(outcome.credit.values()) + outcome.uncovered
    assert second.opening == first.closing
    assert second.closing == whole.closing


# In the book


@pytest.fixture
def practice(db):
    return ProfileFactory()


def a_year_of(client) -> None:
    """Two invoices, a part payment with a tip, a credit note, too large a payment, and a refund."""
    first = InvoiceFactory(client=client, number="A-1", issued=MAY, due=MAY + timedelta(14), net=D(100))
    InvoiceFactory(client=client, number="A-2", issued=JUNE, due=JUNE + timedelta(14), net=D(50))
    record_payment(client, JUNE, D(65), "check", invoice=first, tip=D(5))
    issue_credit_note(first, on=JULY, amounts={1: D(10)})
    record_payment(client, JULY, D(200), "cash")
    record_payment(client, AUGUST, D(-30), "transfer")


def whole(client):
    return statement_of(client, Period(MAY, AUGUST))


def test_a_statement_closes_where_the_account_stands(practice):
    client = ClientFactory()
    a_year_of(client)
    account = account_of(client)

    statement = whole(client)

    open_ = Invoice.objects.filter(client=client).open_total()
    assert statement.course.closing == open_ - sum(account.credit.values()) + account.uncovered == D(-90)
    assert (statement.open_total, statement.credit, statement.beyond) == (D(0), D(90), D(0))


def test_a_statement_of_the_past_shows_what_was_open_then(practice):
    client = ClientFactory()
    a_year_of(client)

    statement = statement_of(client, Period(MAY, JUNE))

    assert [(row.invoice.number, row.open) for row in statement.open] == [("A-1", D(40)), ("A-2", D(50))]
    assert statement.ages == (D(50), D(40), D(0), D(0), D(0))
    assert statement.course.closing == D(90)


def test_what_was_refunded_beyond_all_that_came_in_is_shown_by_itself(practice):
    client = ClientFactory()
    record_payment(client, MAY, D(20), "cash")
    record_payment(client, JUNE, D(-50), "cash")

    paper = statement_paper(whole(client))

    assert [(row.sign, row.label, row.amount) for row in paper.sums] == [
        ("", "Open invoices", "0.00"),
        ("+", "Refunded beyond what was paid", "30.00"),
        ("=", "Balance", "30.00"),
    ]


def test_a_statement_in_words(practice):
    client = ClientFactory(name="Ann Marsh")
    a_year_of(client)

    paper = statement_paper(whole(client))

    assert [(row.day, row.name, row.detail, row.added, row.taken, row.balance) for row in paper.rows] == [
        ("May 4, 2026", "Invoice A-1", "due May 18", "100.00", "", "100.00"),
        ("Jun 4, 2026", "Invoice A-2", "due June 18", "50.00", "", "150.00"),
        ("Jun 4, 2026", "Payment, check", "for A-1, and a tip of 5.00", "", "60.00", "90.00"),
        ("Jul 4, 2026", "Credit note GF-CN-2026-0001", "for A-1", "", "10.00", "80.00"),
        ("Jul 4, 2026", "Payment, cash", "", "", "200.00", "−120.00"),
        ("Aug 4, 2026", "Refund, transfer", "", "30.00", "", "−90.00"),
    ]
    assert (paper.heading, paper.closing) == ("Your credit", "$90.00")


def test_a_bounced_check_is_called_one(practice):
    client = ClientFactory()
    record_payment(client, MAY, D(20), "check")
    record_payment(client, JUNE, D(-20), "check", bounced=True)

    assert [row.name for row in statement_paper(whole(client)).rows] == ["Payment, check", "Bounced check"]


def test_a_statement_is_in_the_clients_language_and_on_the_page_in_the_practices(practice):
    client = ClientFactory(language="de-DE")
    InvoiceFactory(client=client, issued=MAY, due=MAY, net=D(1234))

    statement = whole(client)

    assert statement_paper(statement).closing == "1.234,00\u00a0$"
    assert statement_paper(statement, for_practice=True).closing == "$1,234.00"


def test_the_paper_says_how_to_pay_only_where_something_is_owed(practice):
    owing, even = ClientFactory(), ClientFactory()
    InvoiceFactory(client=owing, issued=MAY, due=MAY)

    papers = [
        render_html("pdf/statement.html", {"paper": statement_paper(whole(client))})
        for client in (owing, even)
    ]

    assert ["How to pay" in paper for paper in papers] == [True, False]
    assert ["Nothing has to be paid" in paper for paper in papers] == [False, True]


def page_of(browser, client, query=""):
    return browser.get(f"/clients/{client.pk}/statement/{query}")


def test_the_page_shows_three_months_unless_other_days_are_asked_for(practice, browser, settings):
    settings.TODAY = AUGUST
    client = ClientFactory(name="Ann Marsh")
    InvoiceFactory(client=client, issued=MAY, due=MAY, net=D(100))
    InvoiceFactory(client=client, issued=JUNE, due=JUNE, net=D(50))

    usual, asked = page_of(browser, client), page_of(browser, client, "?begin=2026-05-01&end=2026-05-31")

    assert usual.context["heading"] == "Ann Marsh owes $150.00."
    assert usual.context["statement"].course.opening == D(100)
    assert asked.context["heading"] == "Ann Marsh owed $100.00 on May 31."


@pytest.mark.parametrize("query", ["?begin=2026-06-01&end=2026-05-01", "?begin=2026-06-01&end=2027-01-01"])
def test_days_that_make_no_statement_are_asked_for_again(practice, browser, settings, query):
    settings.TODAY = AUGUST

    answer = page_of(browser, ClientFactory(), query)

    assert answer.context["heading"] == "Choose the dates."
    assert answer.context["form"].errors.keys() == {"end"}


def test_the_pdf_of_days_that_make_no_statement_is_not_there(practice, browser, settings):
    settings.TODAY = AUGUST
    client = ClientFactory()

    answers = [
        browser.get(f"/clients/{client.pk}/statement/{days}/pdf/").status_code
        for days in ("2026-06-01/2026-05-01", "2026-06-01/2027-01-01")
    ]

    assert answers == [404, 404]


def test_the_statement_opens_as_a_pdf(practice, browser, settings):
    settings.TODAY = AUGUST
    client = ClientFactory(name="Ann Marsh")

    answer = browser.get(f"/clients/{client.pk}/statement/2026-05-01/2026-08-04/pdf/")

    assert answer.content.startswith(b"%PDF-")
    assert "statement-ann-marsh-2026-08-04.pdf" in answer["Content-Disposition"]
