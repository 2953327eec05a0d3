"""Charges and discounts on pages and papers: added, changed, deleted, and read."""

from datetime import timedelta
from decimal import Decimal

import pytest

from billing.actions.invoicing import close_days
from billing.models import Charge, Invoice
from billing.papers.invoice import invoice_paper
from practice.lib.profile import Profile
from practice.models import Client
from tests.factories.billing import ChargeFactory
from tests.factories.practice import (
    DAY,
    ClientFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
)

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture(autouse=True)
def practice(settings):
    settings.TODAY = DAY
    return ProfileFactory()


@pytest.fixture
def ann():
    return ClientFactory(name="Ann")


def typed(**more):
    return {"kind": "no_show", "unit_price": "40.00", "quantity": "1", "name": "", "date": str(DAY)} | more


def charges():
    return list(Charge.objects.values_list("client__name", "name", "kind", "unit_price", "quantity"))


def text_of(answer):
    return " ".join(answer.content.decode().split())


def test_a_charge_is_added_from_the_clients_page(browser, ann):
    answer = browser.post(f"/clients/{ann.pk}/charges/add/", typed(), follow=True)

    assert charges() == [("Ann", "No-show", "no_show", 40, 1)]
    assert answer.redirect_chain == [(f"/clients/{ann.pk}/", 302)]
    assert "No-show, $40.00, added for Ann. It is invoiced when you close October 14." in text_of(answer)
    account = text_of(browser.get(f"/clients/{ann.pk}/account/"))
    assert "No-show" in account and "not invoiced yet" in account


@pytest.mark.parametrize("amount", ["10.00", "-10.00", "−10.00"])
def test_a_discount_is_below_zero_however_it_is_typed(browser, ann, amount):
    browser.post(f"/clients/{ann.pk}/charges/add/", typed(kind="discount", unit_price=amount, name="Thanks"))

    assert charges() == [("Ann", "Thanks", "discount", -10, 1)]


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"unit_price": "0"}, "Type an amount other than 0."),
        ({"unit_price": ""}, "This cannot be blank."),
        ({"kind": "other"}, "Type what it is for, as it should stand on the invoice."),
        ({"quantity": "0"}, "Type a number above 0, such as 1.5."),
        (
            {"date": str(DAY + timedelta(1))},
            f"This day is still ahead. Type today, {DAY}, or an earlier day.",
        ),
    ],
)
def test_what_cannot_be_charged_is_said_beside_the_field(browser, ann, more, message):
    answer = browser.post(f"/clients/{ann.pk}/charges/add/", typed(**more))

    assert (message in text_of(answer), charges()) == (True, [])


def test_at_a_canceled_stop_the_no_show_is_one_press_away_and_its_client_is_chosen(browser, ann):
    horse = owned_horse(ann)
    ClientFactory(name="Someone else")
    visit = VisitFactory(place=horse.place, status="cancelled")
    stop = text_of(browser.get(f"/visits/{visit.pk}/billed/"))
    assert f'href="/visits/{visit.pk}/charges/add/?kind=no_show">Charge for the no-show</a>' in stop

    form = text_of(browser.get(f"/visits/{visit.pk}/charges/add/?kind=no_show"))
    assert f'<option value="{ann.pk}" selected>Ann</option>' in form
    browser.post(f"/visits/{visit.pk}/charges/add/", typed(client=ann.pk))

    row = Charge.objects.get()
    assert (row.visit, row.client, row.date) == (visit, ann, DAY)
    stop = text_of(browser.get(f"/visits/{visit.pk}/billed/"))
    assert "Ann, Oct 14, 2026" in stop and "Add a charge" in stop and "Charge for the no-show" not in stop


def test_a_new_one_proposes_what_was_charged_last(browser, ann):
    ChargeFactory(client=ann, kind="after_hours", unit_price=D("35.00"), taxable=True)

    form = text_of(browser.get(f"/clients/{ann.pk}/charges/add/?kind=after_hours"))

    assert 'value="35.00"' in form and "checked" in form


def test_far_above_the_usual_is_asked_once(browser, ann):
    for _ in range(5):
        ChargeFactory(client=ann, kind="no_show", unit_price=D(25))

    answer = browser.post(f"/clients/{ann.pk}/charges/add/", typed(unit_price="2500"))

    assert "100 times the usual charge of this kind" in text_of(answer)
    assert Charge.objects.count() == 5


def test_it_is_changed_and_deleted_until_it_is_invoiced_then_it_opens_its_invoice(browser, ann):
    first, second = (ChargeFactory(client=ann, kind="no_show") for _ in range(2))

    browser.post(f"/charges/{first.pk}/change/", typed(unit_price="30.00", opened=opened(browser, first)))
    browser.post(f"/charges/{second.pk}/remove/")
    [invoice] = close_days(DAY, DAY, DAY).invoices

    assert (charges(), invoice.total) == ([("Ann", "No-show", "no_show", 30, 1)], 30)
    assert browser.get(f"/charges/{first.pk}/change/").headers["Location"] == f"/invoices/{invoice.pk}/"
    refused = browser.post(f"/charges/{first.pk}/remove/", follow=True)
    assert f"This charge is on invoice {invoice}, so it stays as it is." in text_of(refused)


def opened(browser, charge):
    from tests.forms_of_pages import forms_of

    url = f"/charges/{charge.pk}/change/"
    [form] = [form for form in forms_of(browser.get(url).content.decode(), url) if form.action == url]
    return form.fields["opened"][0]


@pytest.fixture
def billed(ann):
    """A day of a client with 5 percent off: a shared horse, travel, a minimum, a no-show, an amount off."""
    Profile.objects.update(minimum_call=D(120))
    Client.objects.update(discount=D(5))
    visit = VisitFactory(status="done", place__name="Larkspur Barn")
    for price in (30, 60):
        WorkFactory(visit=visit, horse=owned_horse(ann), price=D(price))
    ChargeFactory(client=ann, unit_price=D("12.50"), quantity=D(2), visit=VisitFactory(place=visit.place))
    ChargeFactory(client=ann, unit_price=D(-10), kind="discount", name="Thank you")


def test_the_day_before_it_is_closed_shows_charges_and_discounts(browser, billed):
    page = text_of(browser.get(f"/close/{DAY}/"))

    for words in (
        "Minimum charge",
        "Charges and discounts",
        "No-show × 2",
        "Discount, 5%",
        "−4.50",
        "$130.50",
    ):
        assert words in page


def test_the_invoice_shows_them_apart_from_the_horses(browser, billed):
    [invoice] = close_days(DAY, DAY, DAY).invoices

    paper = invoice_paper(invoice)

    assert [(line.name, line.detail, line.amount) for line in paper.own] == [
        ("No-show", "October 14, Larkspur Barn, 2 × 12.50", "25.00"),
        ("Thank you", "October 14", "−10.00"),
        ("Discount, 5%", "on 90.00 of work and materials", "−4.50"),
    ]
    assert [(line.name, line.detail) for line in paper.blocks[0].lines][1:] == [
        ("Minimum charge", "30.00 shared by 2 horses")
    ]
    assert (paper.net_label, paper.total) == ("Sum", "130.50")
    page = text_of(browser.get(f"/invoices/{invoice.pk}/"))
    assert "Discount, 5%" in page and "on 90.00 of work and materials" in page


def test_an_invoice_of_charges_alone_shows_no_visit(browser, ann):
    ChargeFactory(client=ann, visit=VisitFactory(status="cancelled"))
    [invoice] = close_days(DAY, DAY, DAY).invoices

    paper = invoice_paper(invoice)

    assert (paper.blocks, paper.visits, paper.own_label, len(paper.own)) == ([], "", "Charges", 1)
    assert browser.get(f"/invoices/{invoice.pk}/").status_code == 200


def test_a_credit_note_names_a_charge_and_takes_a_discount_along(browser, billed):
    close_days(DAY, DAY, DAY)
    invoice = Invoice.objects.get()
    form = text_of(browser.get(f"/invoices/{invoice.pk}/credit/"))
    assert "No-show" in form and "Discount, 5%" not in form

    url, sent = f"/invoices/{invoice.pk}/credit/", {"what": "some", "reason": "goodwill", "date": str(DAY)}
    number = list(invoice.lines.order_by("pk").values_list("kind", flat=True)).index("service") + 1
    preview = text_of(browser.post(url, sent | {f"line_{number}": "10.00", "line_5": "25.00", "note": ""}))

    for words in ("No-show", "October 14", "Discount", "−0.50", "$34.50"):
        assert words in preview


def test_settings_take_a_minimum_and_an_early_payment_discount(browser):
    from tests.forms_of_pages import forms_of

    address = "/settings/billing/"
    [form] = [
        form
        for form in forms_of(browser.get(address).content.decode(), address)
        if form.action == address and "minimum_call" in form.fields
    ]
    sent = form.fields | {"minimum_call": "80", "early_discount_percent": "2", "early_discount_days": ""}
    assert "Type the number of days, such as 10." in text_of(browser.post(address, sent))

    browser.post(address, sent | {"early_discount_days": "10"})

    profile = Profile.current()
    assert (profile.minimum_call, profile.early_discount_percent, profile.early_discount_days) == (80, 2, 10)


def test_a_client_has_a_discount(browser, ann):
    page = text_of(browser.get(f"/clients/{ann.pk}/change/"))

    assert "Discount, percent" in page
