"""The pages of special prices, of a price rise, and of who pays for a horse instead of its owners."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from billing.models import BillTo, Price
from tests.factories.practice import (
    DAY,
    ClientFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    owned_horse,
)
from tests.factories.stock import ItemFactory

pytestmark = pytest.mark.django_db
D = Decimal
ADD = reverse("billing:special-price-add")
RISE = reverse("billing:price-rise")


@pytest.fixture(autouse=True)
def practice(settings):
    settings.TODAY = DAY
    return ProfileFactory()


def price(thing, amount, since=DAY - timedelta(90), **whose):
    of = {thing._meta.model_name: thing}
    return Price.objects.create(valid_from=since, price=D(amount), **of, **whose)


def prices():
    """All prices: of what, for whom, from when, how high."""
    return [(str(row.thing), row.whose, row.valid_from, row.price) for row in Price.objects.order_by("pk")]


def test_a_special_price_of_a_service_is_added_from_the_horses_page(browser):
    horse, trim = owned_horse(name="Moss"), ServiceFactory(name="Trim")
    form = browser.get(f"{ADD}?horse={horse.pk}").context["form"]

    answer = browser.post(
        f"{ADD}?horse={horse.pk}",
        {"thing": f"service-{trim.pk}", "whose": form["whose"].value(), "since": DAY, "price": "45"},
    )

    assert answer.url == horse.get_absolute_url()
    assert prices() == [("Trim", horse, DAY, 45)]


def test_one_of_the_same_day_is_replaced_and_the_general_price_stays(browser):
    place, pad = PlaceFactory(), ItemFactory(name="Pad")
    price(pad, "14", since=DAY)
    price(pad, "12", since=DAY, place=place)

    browser.post(
        f"{ADD}?item={pad.pk}",
        {"thing": f"item-{pad.pk}", "whose": f"place-{place.pk}", "since": DAY, "price": "11"},
    )

    assert prices() == [("Pad", None, DAY, 14), ("Pad", place, DAY, 11)]


@pytest.mark.parametrize(
    ("typed", "field", "error"),
    [
        ({"price": "45.005"}, "price", "A service is billed in whole cents. Type a price such as $45.00."),
        ({"whose": "horse-999"}, "whose", "Choose one from the list."),
        ({"thing": ""}, "thing", "This cannot be blank."),
    ],
)
def test_a_special_price_that_cannot_be_is_refused(browser, typed, field, error):
    horse, trim = owned_horse(), ServiceFactory()
    valid = {"thing": f"service-{trim.pk}", "whose": f"horse-{horse.pk}", "since": DAY, "price": "45"}

    answer = browser.post(ADD, valid | typed)

    assert answer.context["form"].errors == {field: [error]}
    assert prices() == []


def test_a_special_price_is_changed_and_deleted(browser):
    client, trim = ClientFactory(), ServiceFactory(name="Trim")
    row = price(trim, "45", client=client)

    browser.post(
        reverse("billing:special-price-change", args=[row.pk]), {"since": row.valid_from, "price": "44"}
    )
    changed = prices()
    browser.post(reverse("billing:special-price-remove", args=[Price.objects.get().pk]))

    assert changed == [("Trim", client, row.valid_from, 44)]
    assert prices() == []


def test_a_special_price_of_closed_days_stays(browser, practice):
    row = price(ServiceFactory(), "45", client=ClientFactory())
    practice.closed_through = DAY - timedelta(30)
    practice.save()
    before = prices()

    browser.post(reverse("billing:special-price-remove", args=[row.pk]))
    change = {"since": DAY, "price": "44"}
    answer = browser.post(reverse("billing:special-price-change", args=[row.pk]), change)

    assert "is closed for good" in answer.context["form"].non_field_errors()[0]
    assert prices() == before


def test_the_page_of_a_service_has_its_history_and_its_special_prices(browser):
    horse, trim = owned_horse(name="Moss"), ServiceFactory()
    price(trim, "50")
    price(trim, "52", since=DAY)
    price(trim, "45", horse=horse)

    page = browser.get(reverse("billing:service-prices", args=[trim.pk])).context

    assert [row.price for row in page["prices"]] == [52, 50]
    assert [(row.name, row.more, row.fact) for row in page["special"]] == [
        ("Moss", "From Jul 16, 2026", "$45.00")
    ]


def test_the_panels_say_who_pays_and_what_is_special(browser):
    horse, trainer, trim = owned_horse(name="Moss"), ClientFactory(name="Tess"), ServiceFactory(name="Trim")
    BillTo.objects.create(horse=horse, client=trainer, service=trim, valid_from=DAY)
    BillTo.objects.create(horse=horse, client=trainer, valid_to=DAY)
    price(trim, "48", place=horse.place)

    terms = {
        name: browser.get(reverse(f"billing:{name}-terms", args=[row.pk])).context["terms"]
        for name, row in (("horse", horse), ("client", trainer), ("place", horse.place))
    }

    spans = [("From Oct 14, 2026", "Trim"), ("To Oct 14, 2026", "Everything")]
    assert [(row.name, row.more, row.fact) for row in terms["horse"].payers] == [
        ("Tess", *row) for row in spans
    ]
    assert [(row.name, row.more, row.fact) for row in terms["client"].payers] == [
        ("Moss", *row) for row in spans
    ]
    assert [row.name for row in terms["place"].prices] == ["Trim"] and terms["place"].payers is None


def test_someone_else_pays_from_a_day_on(browser):
    horse, trainer, trim = owned_horse(), ClientFactory(), ServiceFactory()
    add = reverse("billing:bill-to-add", args=[horse.pk])

    browser.post(add, {"client": trainer.pk, "service": trim.pk, "valid_from": DAY, "valid_to": ""})
    row = BillTo.objects.get()
    other = {"client": trainer.pk, "service": "", "valid_from": DAY, "valid_to": DAY + timedelta(30)}
    answer = browser.post(row.get_absolute_url(), other)

    assert answer.url == horse.get_absolute_url()
    assert list(BillTo.objects.values_list("horse", "client", "service", "valid_from", "valid_to")) == [
        (horse.pk, trainer.pk, None, DAY, DAY + timedelta(30))
    ]


CLOSED = DAY - timedelta(30)


@pytest.mark.parametrize(
    ("change", "is_saved"),
    [
        ({"valid_to": DAY}, True),
        ({"valid_to": CLOSED}, True),
        ({"valid_to": CLOSED - timedelta(1)}, False),
        ({"valid_from": DAY}, False),
        ({"service": "any"}, False),
    ],
)
def test_who_paid_on_closed_days_stays_and_may_end_after_them(browser, practice, change, is_saved):
    practice.closed_through = CLOSED
    practice.save()
    begin, trim = CLOSED - timedelta(30), ServiceFactory()
    row = BillTo.objects.create(horse=owned_horse(), client=ClientFactory(), valid_from=begin)
    typed = {"client": row.client_id, "service": "", "valid_from": begin, "valid_to": ""} | change
    typed["service"] = trim.pk if typed["service"] else ""

    answer = browser.post(row.get_absolute_url(), typed)
    browser.post(reverse("billing:bill-to-remove", args=[row.pk]))

    assert (answer.status_code == 302) == is_saved
    if not is_saved:
        through = CLOSED.isoformat()
        assert answer.context["form"].non_field_errors() == [
            f"The book is closed through {through}, and who paid until then stays. Choose days after it."
        ]
    assert BillTo.objects.filter(
        valid_from=begin, valid_to=change.get("valid_to") if is_saved else None
    ).exists()


def rise(browser, **typed):
    """Post the form of a price rise as its page stands, with what was typed over."""
    fields = {"since": DAY, "percent": "4.5", "step": "0.50"}
    answer = browser.post(RISE, fields | typed)
    return answer, answer.context and answer.context["form"]


def test_a_price_rise_is_shown_line_by_line_and_then_saved_in_one_go(browser):
    """50 × 1.045 = 52.25, halfway between 52.00 and 52.50. Worked by hand."""
    trim, reset, rare = (ServiceFactory(name=name) for name in ("Trim", "Reset", "Rare"))
    price(trim, "50")
    price(reset, "110")
    price(rare, "30", horse=owned_horse())
    ticked = {f"service_{row.pk}": "on" for row in (trim, reset)}

    answer, form = rise(browser, **ticked)
    seen = form["seen"].value()
    before = Price.objects.count()
    answer, _ = rise(browser, **ticked, seen=seen)

    assert [(row.name, *row.cells) for row in form.preview.rows] == [
        ("Trim", "$50.00", "$52.50", "$2.50"),
        ("Reset", "$110.00", "$115.00", "$5.00"),
    ]
    assert (before, answer.url) == (3, reverse("practice:service-list"))
    assert prices()[3:] == [("Trim", None, DAY, D("52.50")), ("Reset", None, DAY, 115)]


def test_a_rise_that_differs_from_what_was_seen_is_shown_again(browser):
    trim, reset = ServiceFactory(name="Trim"), ServiceFactory()
    price(trim, "50")
    price(reset, "110")
    ticked = {f"service_{trim.pk}": "on"}
    _, form = rise(browser, **ticked)

    price(trim, "60", since=DAY - timedelta(1))
    answer, form = rise(browser, **ticked, seen=form["seen"].value())

    assert [row.cells for row in form.preview.rows] == [("$60.00", "$62.50", "$2.50")]
    assert Price.objects.count() == 3


def test_a_price_that_is_set_for_a_later_day_already_is_told_and_stays(browser):
    trim = ServiceFactory(name="Trim")
    price(trim, "50")
    price(trim, "58", since=DAY + timedelta(79))

    _, form = rise(browser, **{f"service_{trim.pk}": "on"})

    assert [row.notes for row in form.preview.rows] == [("Set already: $58.00 from Jan 1, 2027",)]


def test_a_rise_before_anything_had_a_price_is_refused(browser):
    trim = ServiceFactory()
    price(trim, "50", since=DAY)

    _, form = rise(browser, **{f"service_{trim.pk}": "on", "since": DAY - timedelta(1)})

    assert form.non_field_errors() == ["None of these has a price on that day yet. Choose a later day."]


def test_a_rise_of_nothing_or_on_a_closed_day_is_refused(browser, practice):
    trim = ServiceFactory()
    price(trim, "50")
    practice.closed_through = DAY - timedelta(1)
    practice.save()

    _, nothing = rise(browser)
    ticked = {f"service_{trim.pk}": "on", "since": DAY - timedelta(1)}
    _, form = rise(browser, **ticked)
    _, closed = rise(browser, **ticked, seen=form["seen"].value())

    assert nothing.non_field_errors() == ["Check at least one service."]
    assert "is closed for good" in closed.non_field_errors()[0]
    assert Price.objects.count() == 1
