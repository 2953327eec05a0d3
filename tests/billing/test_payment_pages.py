"""A payment's pages, and the payments recorded right after the day is closed."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from playwright.sync_api import expect

from billing.actions.invoicing import close_days
from billing.actions.payments import change_payment, record_payment
from billing.models import Invoice, Payment, PaymentChange
from practice.lib.profile import Profile
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, trim

pytestmark = pytest.mark.django_db
D = Decimal
NOW = {"by": "farrier", "at": datetime(2026, 10, 14, 18, 5, tzinfo=UTC)}


@pytest.fixture(autouse=True)
def practice(settings, tmp_path):
    settings.DATA_DIR, settings.TODAY = tmp_path, DAY
    return ProfileFactory()


@pytest.fixture
def ann():
    """A client with two invoices of 100."""
    ann = ClientFactory(name="Ann")
    InvoiceFactory(number="A", client=ann)
    InvoiceFactory(number="B", client=ann)
    return ann


def page_of(browser, payment):
    return browser.get(payment.get_absolute_url()).context["page"]


def parts_of(browser, payment):
    return [(part.label, part.amount, part.by_hand) for part in page_of(browser, payment).parts]


def test_a_payment_says_what_it_settled_down_to_the_last_cent(browser, ann):
    invoice = ann.invoices.get(number="B")
    payment = record_payment(ann, DAY, D(260), "check", tip=D(10), invoice=invoice)
    record_payment(ann, DAY, D(-30), "check")

    assert page_of(browser, payment).heading == "$260.00 received from Ann."
    assert parts_of(browser, payment) == [
        ("Invoice B", 100, True),
        ("Invoice A", 100, False),
        ("Tip", 10, False),
        ("Refunded later", 30, False),
        ("Credit not used yet", 20, False),
    ]


def test_a_refund_says_what_it_reopened_and_what_came_from_credit(browser, ann):
    record_payment(ann, DAY, D(220), "check")
    refund = record_payment(ann, DAY, D(-90), "check")

    assert page_of(browser, refund).heading == "$90.00 refunded to Ann."
    assert parts_of(browser, refund) == [("Invoice B", -70, False), ("From credit", -20, False)]


def test_a_refund_of_more_than_was_paid_does_not_claim_credit(browser, ann):
    refund = record_payment(ann, DAY, D(-90), "check")

    assert parts_of(browser, refund) == [("From credit, or more than was paid", -90, False)]


def test_the_history_says_what_it_was_until_when_and_who_changed_it(browser, ann):
    payment = record_payment(ann, DAY, D(80), "check", note="No 1180", invoice=ann.invoices.get(number="B"))
    change_payment(payment, {"amount": D(90), "invoice": None}, **NOW)

    [row] = page_of(browser, payment).history

    assert (row.name, row.fact) == ("Check for B", "80.00")
    assert row.more.replace("\u202f", " ") == (
        "Oct 14, 2026, No 1180, until Oct 14, 2026, 6:05 PM, when farrier changed it"
    )


def test_a_payment_is_corrected_on_its_page(browser, ann):
    payment = record_payment(ann, DAY, D(80), "check", note="No 1180")
    address = f"/payments/{payment.pk}/change/"
    form = browser.get(address).context["form"]

    answer = browser.post(
        address, {**form.initial, "invoice": "", "tip": "", "date": DAY.isoformat(), "amount": "90"}
    )

    assert answer.headers["Location"] == payment.get_absolute_url()
    assert Payment.objects.values_list("amount", "method", "note").get() == (90, "check", "No 1180")
    assert PaymentChange.objects.values_list("amount", "what", "by").get() == (80, "changed", "farrier")


def test_a_payment_that_changed_in_another_window_is_not_overwritten(browser, ann):
    payment = record_payment(ann, DAY, D(80), "check")
    address = f"/payments/{payment.pk}/change/"
    form = browser.get(address).context["form"]
    typed = {name: value or "" for name, value in form.initial.items() if value != []}
    typed |= {form.opened_name: form.opened}
    change_payment(payment, {"amount": D(70)}, **NOW)

    answer = browser.post(address, typed | {"date": DAY.isoformat(), "amount": "90"})

    [clash] = answer.context["form"].clashes
    assert (clash.label, Payment.objects.get().amount, PaymentChange.objects.count()) == ("Amount", 70, 1)


def test_a_payment_is_deleted_after_one_question(browser, ann):
    payment = record_payment(ann, DAY, D(80), "check")
    address = f"/payments/{payment.pk}/remove/"

    asked = browser.get(address).context["heading"]
    count = Payment.objects.count()
    answer = browser.post(address, follow=True)

    assert (asked, count) == ("Delete the payment of $80.00?", 1)
    assert answer.redirect_chain == [(f"/clients/{ann.pk}/account/", 302)]
    assert [(row.name, row.fact) for row in answer.context["deleted"]] == [("Check", "80.00")]
    assert (answer.context["account"].open, Payment.objects.count()) == (200, 0)


def test_a_payment_of_a_closed_day_offers_no_change_and_takes_none(browser, ann):
    payment = record_payment(ann, DAY, D(80), "check")
    Profile.objects.update(closed_through=DAY)

    answer = browser.get(payment.get_absolute_url())
    refused = browser.post(f"/payments/{payment.pk}/remove/")

    assert "/change/" not in answer.content.decode() and "/remove/" not in answer.content.decode()
    assert refused.context["form"].non_field_errors() == [
        "2026-10-14 is closed for good: nothing dated through 2026-10-14 can be added, changed, or deleted."
    ]
    assert Payment.objects.count() == 1


def test_the_amount_proposed_is_all_that_the_client_owes(browser, ann):
    record_payment(ann, DAY, D(30), "check")

    form = browser.get(f"/clients/{ann.pk}/payments/add/").context["form"]

    assert (form.initial["amount"], form.initial["date"]) == (170, DAY)


def test_nothing_is_proposed_where_nothing_is_owed(browser):
    form = browser.get(f"/clients/{ClientFactory().pk}/payments/add/").context["form"]

    assert "amount" not in form.initial


def test_an_invoice_just_issued_leads_to_its_payment_and_back_to_the_same_page(browser):
    ann = trim(ClientFactory(name="Ann"))
    browser.post(f"/close/{DAY}/")
    [issued] = browser.get(f"/close/{DAY}/").context["page"].issued
    form = browser.get(issued.pay_url).context["form"]

    answer = browser.post(
        issued.pay_url, {**form.initial, "tip": "", "note": "", "date": DAY.isoformat()}, follow=True
    )

    assert (form.initial["amount"], form.initial["date"]) == (50, DAY)
    assert answer.redirect_chain == [(f"/close/{DAY}/", 302)]
    [paid] = answer.context["page"].issued
    assert (paid.row.name, paid.row.note, paid.pay_url) == ("Ann", "paid", "")
    assert Payment.objects.get().invoice.lines.get().visit == ann.visit


@pytest.mark.parametrize("day", ["x", "https://example.com", "2026-1-1"])
def test_the_way_back_from_a_payment_is_a_day_or_nothing(browser, ann, day):
    assert browser.get(f"/clients/{ann.pk}/payments/add/?close={day}").status_code == 404


def test_the_invoices_of_a_day_are_those_of_its_date_and_of_its_visits(browser):
    trim(ClientFactory(name="Ann"))
    Profile.objects.update(closed_through=DAY)
    close_days(DAY, DAY, DAY.replace(day=15))
    [invoice] = Invoice.objects.all()

    assert invoice.issued > DAY
    for day in (DAY, invoice.issued):
        assert [row.row.more for row in browser.get(f"/close/{day}/").context["page"].issued] == [
            invoice.number
        ]


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_the_evening_in_a_browser_two_payments_one_corrected_one_deleted(own_page):
    for name in ("Ann", "Ben", "Cleo"):
        trim(ClientFactory(name=name))
    page = own_page
    page.goto(f"/close/{DAY}/")
    page.get_by_role("button", name="Issue 3 invoices").click()
    expect(page.get_by_role("link", name="Print all 3 invoices")).to_be_visible()
    printed = page.request.get(page.get_by_role("link", name="Print all 3 invoices").get_attribute("href"))
    assert printed.body()[:5] == b"%PDF-"

    for _ in range(2):
        page.get_by_role("link", name="Record payment").first.click()
        assert D(page.get_by_label("Amount", exact=True).input_value()) == 50
        page.get_by_role("button", name="Record payment").click()
        page.wait_for_url(f"**/close/{DAY}/")
    expect(page.get_by_role("link", name="Record payment")).to_have_count(1)

    page.get_by_role("link", name="Ann GF-2026-0001 $50.00").click()
    page.get_by_role("link", name="Check, for this invoice").click()
    page.get_by_role("link", name="Change", exact=True).click()
    page.get_by_label("Amount", exact=True).fill("40")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="$40.00 received from Ann.")).to_be_visible()
    expect(page.get_by_text("when farrier changed it")).to_be_visible()

    page.goto(f"/close/{DAY}/")
    page.get_by_role("link", name="Ben GF-2026-0002 $50.00").click()
    page.get_by_role("link", name="Check, for this invoice").click()
    page.get_by_role("link", name="Delete").click()
    page.get_by_role("button", name="Delete payment").click()
    expect(page.get_by_role("heading", name="Ben owes $50.00.")).to_be_visible()

    assert list(Payment.objects.values_list("client__name", "amount")) == [("Ann", 40)]
    changes = PaymentChange.objects.order_by("pk").values_list("client__name", "what", "amount", "by")
    assert list(changes) == [("Ann", "changed", 50, "farrier"), ("Ben", "deleted", 50, "farrier")]
    assert page.problems == []
