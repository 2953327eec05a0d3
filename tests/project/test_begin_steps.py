"""The five steps of a new book: each saves what was typed, or says in its row what is wrong."""

from datetime import timedelta
from decimal import Decimal

import pytest

from billing.models import Price
from practice.lib.periods import FIRST_DAY
from practice.lib.presses import new_press
from practice.lib.profile import Profile
from practice.models import Client, Horse, MaterialUse, Reading, Service, Vehicle, Visit
from practice.reports.due import due_horses
from stock.models import Item
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
)
from tests.factories.stock import ItemFactory
from tests.forms_of_pages import forms_of

pytestmark = pytest.mark.django_db
D = Decimal
WEEK = timedelta(weeks=1)


@pytest.fixture
def fill_in(browser, settings):
    """Return a function that fills in a step as the page shows it; it returns the page's form afterwards."""
    settings.TODAY = DAY

    def fill(key, **typed):
        shown = forms_of(browser.get("/begin/").content.decode(), "/begin/")
        [form] = [form for form in shown if form.fields.get("step") == [key]]
        answer = browser.post("/begin/", form.fields | typed | {"uuid": new_press()})
        if answer.status_code == 302:
            return {}
        [step] = [each for each in answer.context["steps"] if each.step.key == key]
        return {name: [*errors] for name, errors in step.form.errors.items()} | (
            {"asked": [each.message for each in step.form.asked]} if step.form.asked else {}
        )

    return fill


def test_a_practice_needs_its_name_and_all_else_follows_from_its_country(fill_in):
    refused = fill_in("practice", country="GB")
    saved = fill_in("practice", name="Garrow Farriery", country="GB")

    row = Profile.current()
    assert (refused, saved) == ({"name": ["This cannot be blank."]}, {})
    assert (row.currency, row.distance_unit, row.locale, row.mileage_scheme, row.home_country.paper) == (
        *("GBP", "mi", "en-GB"),
        *("uk_simplified", "A4"),
    )


def test_what_was_chosen_stays_where_the_country_is_changed(fill_in):
    fill_in("practice", name="Garrow Farriery", country="US", currency="CAD")
    fill_in("practice", country="AU")

    row = Profile.current()
    assert (row.currency, row.distance_unit, row.locale) == ("CAD", "km", "en-AU")


def test_a_mileage_scheme_stays_until_another_country_is_chosen(fill_in):
    fill_in("practice", name="Garrow Farriery", country="US")
    Profile.objects.update(mileage_scheme="uk_simplified")

    fill_in("practice", address="4 Orchard Hill")
    kept = Profile.current().mileage_scheme
    fill_in("practice", country="AU")

    assert (kept, Profile.current().mileage_scheme) == ("uk_simplified", "au_cents_per_km")


def test_rows_with_a_price_become_services_whose_price_holds_from_the_beginning(fill_in):
    refused = fill_in("work", price_1="55", price_6="20")
    saved = fill_in("work", price_1="55", price_4="260", name_6="Follow-up", price_6="20")

    assert (refused, saved) == ({"name_6": ["Type what you do, such as Trim."]}, {})
    made = Service.objects.order_by("pk").values_list("name", "new_shoes", "feet_nailed", "resets_cycle")
    assert list(made) == [("Trim", 0, 0, True), ("Full set", 4, 4, True), ("Follow-up", None, None, True)]
    assert list(Price.objects.order_by("pk").values_list("valid_from", "price")) == [
        (FIRST_DAY, price) for price in (55, 260, 20)
    ]


def test_a_price_from_the_beginning_says_so(fill_in, browser):
    fill_in("work", price_1="55")

    page = browser.get(Service.objects.get().get_absolute_url()).content.decode()

    assert ("from the beginning" in page, "1990" in page) == (True, False)


def test_work_that_has_a_name_in_the_book_is_not_proposed_again(fill_in):
    ServiceFactory(name="Trim")

    fill_in("work", price_1="140")

    assert Price.objects.get().service.name == "Reset"


def test_a_pattern_takes_one_row_for_all_its_sizes(fill_in):
    refused = fill_in(
        "truck", pattern_1="Plain", fits_1="front", sizes_1="0-2", counts_1="8 12", costs_1="3.10"
    )
    saved = fill_in(
        "truck",
        pattern_1="Plain",
        fits_1="front",
        sizes_1="0-2",
        counts_1="8 12 4",
        costs_1="3.10",
        head_1="slim",
        nail_sizes_1="4, 5",
        nail_counts_1="500",
        nail_costs_1="0.08",
        name_1="Packing",
        kind_1="packing",
        unit_1="ml",
        count_1="2500.5",
        cost_1="0.02",
    )

    words = (
        "There are 3 sizes, but 2 figures here. Type one count for all of them, or one for each, with spaces"
    )
    assert (refused, saved) == ({"counts_1": [f"{words} between."]}, {})
    rows = Item.objects.order_by("pk").values_list(
        "name", "size", "pack_size", "shelf__on_hand", "shelf__value"
    )
    assert list(rows) == [
        ("Plain front, No 0", "0", 1, 8, D("24.8")),
        ("Plain front, No 1", "1", 1, 12, D("37.2")),
        ("Plain front, No 2", "2", 1, 4, D("12.4")),
        ("Nails, slim No 4", "4", 250, 500, 40),
        ("Nails, slim No 5", "5", 250, 500, 40),
        ("Packing", "", 1, D("2500.5"), D("50.01")),
    ]


def test_an_item_that_is_on_the_truck_is_named_beside_its_row(fill_in):
    ItemFactory(name="Plain, No 1")

    refused = fill_in("truck", pattern_2="plain", fits_2="any", sizes_2="0 1")

    assert refused == {
        "pattern_2": ["plain, No 1 is on the truck already. Leave it out, or give it another name."]
    }


def test_a_client_comes_with_place_horses_owners_and_a_last_visit_that_makes_them_due(fill_in):
    trim = ServiceFactory(name="Trim")
    last = DAY - 5 * WEEK

    saved = fill_in(
        "clients",
        client="Petra Quill",
        place="Larkspur Barn",
        horse_1="Juniper",
        last_done_1=last.isoformat(),
        done_1=trim.pk,
        owner1_of_1="Ansel Wray",
        share1_of_1="40",
        horse_2="Bramble",
        cycle_weeks_2="8",
        last_done_2=last.isoformat(),
        done_2=trim.pk,
    )

    assert saved == {}
    assert [(str(row.horse), str(row.horse.place), row.due) for row in due_horses()] == [
        ("Juniper", "Larkspur Barn", DAY + WEEK),
        ("Bramble", "Larkspur Barn", DAY + 3 * WEEK),
    ]
    shares = [(str(row.client), row.share) for row in Horse.objects.get(name="Juniper").owners.order_by("pk")]
    assert shares == [("Petra Quill", 60), ("Ansel Wray", 40)]
    visit = Visit.objects.get()
    assert (visit.date, visit.status, visit.billed, visit.work.count()) == (last, "done", True, 2)


def test_shoes_put_on_the_last_time_are_known_and_leave_what_was_counted_on_the_truck(fill_in):
    fronts = ServiceFactory(name="Fronts", new_shoes=2, feet_nailed=2)
    fill_in("truck", pattern_1="Plain", fits_1="front", sizes_1="2", counts_1="8", costs_1="3.00")
    shoe = Item.objects.get()

    fill_in(
        "clients",
        client="Petra Quill",
        place="Larkspur Barn",
        horse_1="Juniper",
        last_done_1=(DAY - 5 * WEEK).isoformat(),
        done_1=fronts.pk,
        front_1=shoe.pk,
    )

    assert list(MaterialUse.objects.order_by("pk").values_list("foot", "quantity")) == [("LF", 1), ("RF", 1)]
    shoe.shelf.refresh_from_db()
    assert (shoe.shelf.on_hand, shoe.shelf.value) == (8, 24)
    standing = shoe.movements.standing().in_order().values_list("kind", "date", "quantity")
    assert list(standing) == [
        ("count", DAY - 5 * WEEK - timedelta(1), 10),
        ("use", DAY - 5 * WEEK, 1),
        ("use", DAY - 5 * WEEK, 1),
    ]


def test_what_a_horse_wears_after_a_reset_stands_in_its_notes(fill_in):
    reset = ServiceFactory(name="Reset", new_shoes=0, feet_nailed=4)
    front, hind = ItemFactory(name="Plain front, No 2", fits="front"), ItemFactory(name="Plain hind, No 1")

    fill_in(
        "clients",
        client="Petra Quill",
        place="Larkspur Barn",
        horse_1="Juniper",
        last_done_1=(DAY - WEEK).isoformat(),
        done_1=reset.pk,
        front_1=front.pk,
        hind_1=hind.pk,
    )

    assert Horse.objects.get().notes == "Wears Plain front, No 2 in front and Plain hind, No 1 behind."
    assert MaterialUse.objects.count() == 0


def test_a_client_and_a_place_that_are_in_the_book_are_asked_about_and_not_made_again(fill_in):
    client, place = ClientFactory(name="Petra Quill"), PlaceFactory(name="Larkspur Barn")
    typed = {"client": "petra quill", "place": "Larkspur barn", "horse_1": "Juniper", "phone": "555-0116"}

    asked = fill_in("clients", **typed)

    assert asked == {"asked": ["Petra Quill is in the book already. Are these more horses of that client?"]}
    assert Horse.objects.count() == 0
    assert (Client.objects.get(), place.horses.count()) == (client, 0)


@pytest.mark.parametrize(
    ("typed", "errors"),
    [
        ({"horse_1": ""}, {"horse_1": ["Type the name of a horse."]}),
        (
            {"last_done_1": "2026-09-01"},
            {
                "done_1": ["Choose what was done that day."],
                "place": ["Type where the horses are kept, such as Larkspur Barn."],
            },
        ),
        (
            {"owner1_of_1": "Ansel Wray", "share1_of_1": "100"},
            {"share1_of_1": ["Leave the client a share: together these must stay below 100."]},
        ),
        ({"owner2_of_1": "Ansel Wray"}, {"share2_of_1": ["Type the share in percent, such as 50."]}),
        ({"share1_of_1": "50"}, {"owner1_of_1": ["Type who owns this share."]}),
    ],
)
def test_what_is_wrong_with_a_horse_stands_in_its_row_and_nothing_is_saved(fill_in, typed, errors):
    refused = fill_in("clients", **{"client": "Petra Quill", "horse_1": "Juniper"} | typed)

    assert refused == errors
    assert (Client.objects.count(), Horse.objects.count()) == (0, 0)


def test_a_vehicle_comes_with_this_mornings_odometer(fill_in):
    VehicleFactory(name="Blue truck")

    refused = fill_in("vehicle", vehicle="blue truck", odometer="84198")
    saved = fill_in("vehicle", vehicle="Van", odometer="84198.5")

    words = "A vehicle with this name is in the book already. Type another name."
    assert (refused, saved) == ({"vehicle": [words]}, {})
    reading = Reading.objects.get()
    assert (reading.vehicle, reading.date, reading.at, reading.reading) == (
        Vehicle.objects.get(name="Van"),
        DAY,
        "start",
        D("84198.5"),
    )


def test_an_empty_book_leads_home_to_its_steps_until_they_are_done_or_put_away(browser, settings):
    settings.TODAY = DAY
    led = browser.get("/")
    empty = browser.get("/begin/").context["page"]
    ProfileFactory()
    named = browser.get("/begin/").context["page"]
    HorseFactory()
    home = browser.get("/").context["begin"]
    browser.post("/begin/put-away/", {"uuid": new_press()})
    away = browser.get("/").context["begin"]

    assert (led.status_code, led.headers["Location"]) == (302, "/begin/")
    assert (empty.answer, named.answer) == ("Five steps to a book of your own.", "One of five steps is done.")
    assert empty.steps[0].missing == "Missing: name, country, address, how to pay, logo"
    assert (home.left, away) == ("work and prices, the truck, clients and horses, and your vehicle", None)


def test_a_page_that_is_to_be_put_away_first_needs_the_name_of_the_practice(browser):
    answer = browser.post("/begin/put-away/", {"uuid": new_press()}, follow=True)

    assert "Enter the name of your practice first." in answer.content.decode()
    assert Profile.objects.count() == 0
