"""Late fees and interest: off unless the practice sets them, proposed, and never twice for the same days.

Simple interest is principal × rate × time; a year of 365 days is common practice, no source.
"""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from billing.actions.charges import delete_charge
from billing.actions.invoicing import close_days
from billing.actions.late_fees import charge_late_fees
from billing.actions.payments import record_payment
from billing.models import Charge, Dispute, Invoice
from billing.reports.late_fees import proposed_late_fees
from billing.rules.late_fees import LateInvoice, LateRule, interest, late_charges
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.project.book.exporter import export_book
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory

D = Decimal


def on(days: int) -> date:
    return DAY + timedelta(days)


def test_interest_is_simple_on_what_is_open_each_day():
    whole = LateInvoice("A-1", DAY, D(365))
    half_from_day_11 = LateInvoice("A-1", DAY, D(365), ((on(11), D("182.5")),))

    assert interest(whole, D(10), on(1), on(30)) == D(3)
    assert interest(half_from_day_11, D(10), on(1), on(30)) == D(1) + D(1)


@pytest.mark.parametrize(("days", "proposed"), [(10, 0), (11, 2)])
def test_nothing_is_proposed_before_the_days_that_the_practice_set(days, proposed):
    rule = LateRule(fee=D(5), percent=D(10), after_days=10)

    assert len(late_charges(LateInvoice("A-1", DAY, D(100)), rule, [], on(days))) == proposed


@settings(max_examples=50)
@given(st.lists(st.integers(1, 120), min_size=1, max_size=6), st.integers(0, 40))
def test_however_often_it_is_charged_interest_is_for_each_day_once(presses, after):
    invoice, rule = LateInvoice("A-1", DAY, D(365), ((on(50), D(100)),)), LateRule(D(5), D(10), after)
    charged = {}
    for days in sorted(presses):
        for charge in late_charges(invoice, rule, charged, on(days)):
            assert charge.ref not in charged
            charged[charge.ref] = charge

    fees = [charge for charge in charged.values() if charge.kind == "late-fee"]
    owed = sum((charge.amount for charge in charged.values() if charge not in fees), D(0))
    is_late = max(presses) > after
    assert len(fees) == is_late
    whole = interest(invoice, D(10), on(1), on(max(presses))) if is_late else D(0)
    assert round(owed, 12) == round(whole, 12)


def test_an_invoice_whose_number_begins_alike_is_another_one():
    rule, charged = LateRule(percent=D(10)), ["late-interest/A-1/1/2026-10-15/2026-11-13"]

    [charge] = late_charges(LateInvoice("A-1", DAY, D(100)), rule, charged, on(30))

    assert charge.begin == on(1)


# In the book


@pytest.fixture
def practice(db):
    return ProfileFactory(late_fee=D(10), late_interest_percent=D(10))


def late_invoice(**facts):
    return InvoiceFactory(number="A-1", issued=on(-14), due=DAY, net=D(365), **facts)


def proposed(days=30):
    return [(row.name, row.amount) for row in proposed_late_fees(on(days), Profile.current())]


def refs(days=30):
    return [row.charge.ref for row in proposed_late_fees(on(days), Profile.current())]


def test_nothing_is_proposed_unless_the_practice_sets_it(db):
    ProfileFactory()
    late_invoice()

    assert proposed() == []
    with pytest.raises(RuleBroken) as refused:
        charge_late_fees(["late-fee/A-1"], on(30))
    assert refused.value.code == "late_fees_off"


def test_a_fee_and_interest_are_lines_that_say_their_rule(practice):
    late_invoice()

    assert proposed() == [
        ("Late fee, invoice A-1, due Oct 14, 2026", D(10)),
        (
            "Interest, invoice A-1, Oct 15, 2026 to Nov 13, 2026, 10% a year on what was open each day",
            D(3),
        ),
    ]


def test_what_was_charged_is_not_charged_again_and_interest_goes_on_from_there(practice):
    late_invoice()

    first, again = charge_late_fees(refs(), on(30)), charge_late_fees(refs(), on(30))

    assert [(row.kind, row.unit_price, row.date) for row in first] == [
        ("late_fee", 10, on(30)),
        ("late_fee", 3, on(30)),
    ]
    assert (again, proposed()) == ([], [])
    assert refs(40) == [f"late-interest/A-1/{on(31)}/{on(40)}"]


def test_only_what_was_checked_is_charged(practice):
    late_invoice()

    charge_late_fees(["late-fee/A-1", "late-fee/B-9"], on(30))

    assert [charge.ref for charge in Charge.objects.all()] == ["late-fee/A-1"]


def test_a_line_that_is_deleted_before_it_is_invoiced_is_proposed_again(practice):
    late_invoice()
    before = proposed()

    for charge in charge_late_fees(refs(), on(30)):
        delete_charge(charge)

    assert proposed() == before


def test_no_interest_is_charged_on_a_late_fee(practice):
    client = ClientFactory()
    late_invoice(client=client)
    charge_late_fees(refs(), on(30))
    [invoice] = close_days(on(30), on(30), on(31)).invoices
    record_payment(client, on(31), D(365), "cash")

    assert invoice.total == 13
    assert proposed(200) == []


def test_what_was_charged_is_known_in_a_book_that_was_brought_in(practice, tmp_path, check_it_comes_back):
    late_invoice()
    charge_late_fees(refs(), on(30))

    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")
    rows = (tmp_path / "out" / "charges.csv").read_text(encoding="utf-8").splitlines()[1:]
    assert [row.split(",")[0] for row in rows] == [charge.ref for charge in Charge.objects.order_by("pk")]


def test_a_disputed_invoice_and_a_paid_one_are_left_alone(practice):
    Dispute.objects.create(invoice=late_invoice(), opened_on=on(1), note="Two shoes, not four.")
    paid = InvoiceFactory(number="B-1", issued=on(-14), due=DAY, net=D(50))
    record_payment(paid.client, on(20), D(50), "cash")

    assert proposed() == []


def test_the_owed_page_charges_what_is_checked_and_puts_consumer_law_first(practice, browser, settings):
    settings.TODAY = on(30)
    late_invoice()

    page = browser.get("/money/").content.decode()
    browser.post("/money/late-fees/", {"fee": "late-fee/A-1"})

    assert page.index("Consumer law comes first") < page.index("late-fee/A-1")
    assert "checked>" not in page
    assert [charge.ref for charge in Charge.objects.all()] == ["late-fee/A-1"]
    assert Invoice.objects.count() == 1


def test_a_practice_that_charges_nothing_sees_nothing_of_it(db, browser, settings):
    settings.TODAY = on(30)
    ProfileFactory()
    late_invoice()

    assert b"Late fees" not in browser.get("/money/").content
