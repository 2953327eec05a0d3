"""The early-payment discount: offered, proposed when a payment is short by just that, never taken unasked."""

from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.actions.crediting import issue_credit_note
from billing.actions.early_payment import give_early_discount
from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import CreditNote, Invoice, TaxRate
from billing.reports.early_payment import just_kept, offered
from billing.rules.crediting import CreditableLine, CreditedInvoice
from billing.rules.early_payment import early_credit
from billing.rules.totals import Tax, totals
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, trim

D = Decimal
LAST = DAY + timedelta(10)
STATE = (Tax("State", D(5)),)


def standing(*lines):
    lines = [CreditableLine(kind, D(net), taxes) for kind, net, taxes in lines]
    sums = totals([(line.net, line.taxes) for line in lines], "USD")
    return CreditedInvoice(lines, sums.net, sums.tax, "USD")


def test_each_line_is_credited_by_the_percent_with_its_tax_and_its_discount():
    # EN 16931 BR-S-08: what is taken off lowers the base of its rate. Figures computed by hand.
    lines = ("service", "100.00", STATE), ("discount", "-10.00", STATE), ("travel", "20.00", ())

    credit = early_credit(standing(*lines), D(2))

    assert credit.lines == {1: D("2.00"), 2: D("-0.20"), 3: D("0.40")}
    assert (credit.net, credit.tax, credit.total) == (D("2.20"), D("0.09"), D("2.29"))


def test_a_percent_of_next_to_nothing_is_nothing():
    assert early_credit(standing(("service", "0.20", ())), D(2)) is None


AMOUNTS = st.integers(1, 50_000).map(lambda cents: D(cents) / 100)
LINES = st.lists(st.tuples(AMOUNTS, st.sampled_from([(), STATE])), min_size=1, max_size=6)


@given(LINES, st.integers(1, 100))
def test_it_is_never_more_than_the_invoice_and_off_by_less_than_a_cent_a_line(lines, percent):
    invoice = standing(*[("service", net, taxes) for net, taxes in lines])

    credit = early_credit(invoice, D(percent))

    taken = credit.net if credit else D(0)
    assert 0 <= taken <= invoice.net
    assert abs(taken - invoice.net * percent / 100) <= D("0.005") * len(lines)


@pytest.fixture
def invoice(db, settings):
    """An invoice of 50.00 and 5 % tax, of a practice that gives 2 % within ten days."""
    settings.TODAY = DAY + timedelta(3)
    ProfileFactory(early_discount_percent=D(2), early_discount_days=10)
    TaxRate.objects.create(name="State", valid_from=DAY, rate=5)
    work = trim(ClientFactory(name="Ann"))
    work.service.taxable = True
    work.service.save()
    [invoice] = close_days(DAY, DAY, DAY).invoices
    return invoice


def now(invoice):
    return Invoice.objects.with_settled().get(pk=invoice.pk)


def pay(invoice, amount, on=DAY + timedelta(3)):
    return record_payment(invoice.client, on, D(amount), "check", invoice=invoice)


def test_it_is_offered_until_its_last_day(invoice):
    on = {day: offered(now(invoice), Profile.current(), day) for day in (DAY, LAST, LAST + timedelta(1))}

    assert [row and row.amount for row in on.values()] == [D("1.05"), D("1.05"), None]
    assert on[DAY].offer == "By October 24, $51.45 is enough: the early-payment discount is 2%."


@pytest.mark.parametrize(
    ("amount", "on", "kept"),
    [
        ("51.45", DAY, D("1.05")),
        ("51.45", LAST, D("1.05")),
        ("51.45", LAST + timedelta(1), None),
        ("51.44", DAY, None),
        ("51.46", DAY, None),
        ("52.50", DAY, None),
    ],
)
def test_it_is_kept_by_who_pays_in_time_and_is_short_by_just_that(invoice, amount, on, kept):
    pay(invoice, amount, on)

    discount = just_kept(now(invoice), Profile.current())

    assert (discount and discount.amount) == kept
    assert CreditNote.objects.count() == 0


def test_giving_it_settles_the_rest_by_a_credit_note_of_goodwill(invoice):
    pay(invoice, "51.45")

    note = give_early_discount(invoice, DAY + timedelta(4))

    assert (note.reason, note.net, note.tax, note.issued) == ("goodwill", 1, D("0.05"), DAY + timedelta(4))
    assert now(invoice).open == 0
    assert invoice.lines.get().visit.locked
    with pytest.raises(RuleBroken) as broken:
        give_early_discount(invoice, DAY + timedelta(4))
    assert broken.value.code == "no_early_discount"


def test_without_the_practices_word_there_is_none(invoice):
    Profile.objects.update(early_discount_days=None)
    pay(invoice, "51.45")

    assert (offered(now(invoice), Profile.current(), DAY), just_kept(now(invoice), Profile.current())) == (
        None,
        None,
    )


def test_what_was_credited_before_lowers_it(invoice):
    issue_credit_note(invoice, DAY, {1: D(10)}, reason="goodwill")

    assert offered(now(invoice), Profile.current(), DAY).amount == D("0.84")


def text_of(answer):
    return " ".join(answer.content.decode().split())


def test_the_form_says_what_is_enough_and_the_invoice_proposes_what_was_kept(browser, invoice):
    form = text_of(browser.get(f"/clients/{invoice.client.pk}/payments/add/?invoice={invoice.pk}"))
    assert "By October 24, $51.45 is enough" in form and 'value="52.50"' in form
    pay(invoice, "51.45")

    page = text_of(browser.get(f"/invoices/{invoice.pk}/"))
    assert "Paid by October 24, and short by just the discount of 2%: $1.05." in page
    browser.post(f"/invoices/{invoice.pk}/early-discount/")

    assert now(invoice).open == 0
    assert "Early-payment discount" not in text_of(browser.get(f"/invoices/{invoice.pk}/"))


def test_where_nothing_is_open_the_form_says_what_a_deposit_may_be(browser, invoice):
    other = ClientFactory()

    form = text_of(browser.get(f"/clients/{other.pk}/payments/add/"))

    assert "A deposit may count as income, or be taxed, on the day it is received." in form
    assert "A licensed tax preparer decides." in form
