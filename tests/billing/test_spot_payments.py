"""Paid on the spot: before the invoice exists, and settled when it is issued."""

from decimal import Decimal

import pytest

from billing.actions.bouncing import bounce_check
from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import Charge, Payment, TaxRate
from billing.reports.spot import spot_billing
from practice.lib.profile import Profile
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import DAY, ClientFactory, OwnerFactory, ProfileFactory, trim

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture(autouse=True)
def practice(settings, tmp_path):
    settings.DATA_DIR, settings.TODAY = tmp_path, DAY
    return ProfileFactory()


def spots(visit):
    return [
        (str(row.client), row.total, row.paid, row.due)
        for row in spot_billing(visit, Profile.current(), DAY).payments
    ]


def test_a_stop_comes_to_what_would_be_invoiced_with_tax_for_each_owner():
    work = trim(ClientFactory(name="Ann"))
    TaxRate.objects.create(name="State", valid_from=DAY, rate=5)
    work.service.taxable = True
    work.service.save()
    work.horse.owners.update(share=60)
    OwnerFactory(horse=work.horse, client=ClientFactory(name="Ben"), share=40)

    assert spots(work.visit) == [("Ann", D("31.50"), 0, D("31.50")), ("Ben", 21, 0, 21)]


def test_a_payment_for_the_stop_settles_its_invoice_when_that_is_issued_and_no_older_one(browser):
    ann = ClientFactory(name="Ann")
    older, work = InvoiceFactory(number="OLD-1", client=ann), trim(ann)
    address = f"/clients/{ann.pk}/payments/add/?visit={work.visit.pk}"
    page = browser.get(address).context

    answer = browser.post(
        address, page["form"].initial | {"date": DAY.isoformat(), "method": "cash", "tip": ""}
    )
    close_days(DAY, DAY, DAY)

    assert (page["form"].initial["amount"], page["back_url"]) == (50, work.visit.get_absolute_url())
    assert answer.headers["Location"] == work.visit.get_absolute_url()
    payment = Payment.objects.get()
    [settled] = payment.settlements.all()
    assert (payment.visit, settled.invoice.lines.get().visit, settled.by_hand) == (
        work.visit,
        work.visit,
        True,
    )
    assert ann.invoices.with_settled().get(pk=older.pk).open == 100


def test_what_was_paid_for_the_stop_is_proposed_no_second_time(browser):
    work = trim(ClientFactory(name="Ann"))
    record_payment(work.horse.owners.get().client, DAY, D(35), "cash", visit=work.visit, tip=D(5))

    assert spots(work.visit) == [("Ann", 50, 30, 20)]
    [row] = browser.get(f"/visits/{work.visit.pk}/billed/").context["page"].spot
    assert (row.name, row.fact, row.note) == ("Ann", "$20.00", "$30.00 paid")


def test_a_stop_that_is_held_back_says_why_and_its_owners_can_pay_all_the_same(browser):
    work = trim(ClientFactory(name="Ann"))
    Profile.objects.update(travel_rule="per_distance", travel_rate=D(2))

    page = browser.get(f"/visits/{work.visit.pk}/billed/").context["page"]
    form = browser.get(page.spot[0].url).context["form"]

    assert page.held.startswith("No drive to ")
    assert [(row.name, row.more, row.fact) for row in page.spot] == [("Ann", "Record payment", "")]
    assert "amount" not in form.initial


def test_a_stop_that_is_invoiced_has_nothing_to_pay_on_the_spot():
    work = trim()
    close_days(DAY, DAY, DAY)
    work.visit.refresh_from_db()

    assert spots(work.visit) == []


def test_the_stops_page_leads_to_its_payments_as_soon_as_a_horse_is_saved(browser):
    work = trim()
    type(work.visit).objects.update(status="planned")
    billed = f"/visits/{work.visit.pk}/billed/"

    assert billed in browser.get(work.visit.get_absolute_url()).content.decode()
    [row] = browser.get(billed).context["page"].spot
    assert row.url.endswith(f"/payments/add/?visit={work.visit.pk}")


def test_the_fee_of_a_bounced_check_is_a_charge_on_the_next_invoice(browser):
    ann = ClientFactory(name="Ann")
    check = record_payment(ann, DAY, D(50), "check")

    browser.post(f"/payments/{check.pk}/bounced/", {"date": DAY.isoformat(), "fee": "25", "note": ""})
    close_days(DAY, DAY, DAY)

    charge = Charge.objects.get()
    assert (charge.client, charge.kind, charge.unit_price, charge.date) == (ann, "bounced_check", 25, DAY)
    assert ann.invoices.get().total == 25


def test_a_bounced_check_without_a_fee_charges_nothing():
    bounce_check(record_payment(ClientFactory(), DAY, D(50), "check"), DAY, fee=D(0))

    assert not Charge.objects.exists()
