"""The settings: a page for each section, what is chosen there in words, and what follows from the country."""

import re
from decimal import Decimal
from html import unescape

import pytest
from django.urls import reverse

from practice.lib.profile import Profile
from practice.views.settings import SECTIONS
from tests.factories.practice import ProfileFactory, trim
from tests.forms_of_pages import forms_of

pytestmark = pytest.mark.django_db
D = Decimal
UP_TO_365 = "Type a whole number from 0 to 365."
# No section sets these: closing a year does, the demo, and the page on which a book begins.
SET_ELSEWHERE = {"id", "closed_through", "closing_to_take_back", "closed_before", "is_demo", "begin_put_away"}


def words(answer) -> str:
    """Return what a page says, without its tags."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text)).split())


def at(section: str) -> str:
    return reverse(f"practice:settings-{section}")


def filled_in(browser, section: str) -> dict[str, list[str]]:
    """Return what the form of a section is sent with when nothing is changed."""
    [form] = [
        each for each in forms_of(browser.get(at(section)).text, at(section)) if "opened" in each.fields
    ]
    return {name: values for name, values in form.fields.items() if name != "logo"}


def test_every_setting_stands_in_one_section():
    fields = [name for form, *_ in SECTIONS.values() for name in form._meta.fields]

    assert len(fields) == len(set(fields))
    assert {field.name for field in Profile._meta.fields} - set(fields) == SET_ELSEWHERE


@pytest.mark.parametrize("section", SECTIONS)
def test_each_field_of_a_section_is_in_one_group_and_says_what_it_changes(section):
    form = SECTIONS[section][0](instance=ProfileFactory(), profile=Profile.current())

    shown = [field for _, fields in form.parts() for field in fields]

    assert sorted(field.name for field in shown) == sorted(form.fields)
    assert [field.name for field in shown if not field.help_text] == []


@pytest.mark.parametrize("section", SECTIONS)
def test_saving_a_section_as_it_is_changes_nothing_of_any(browser, section):
    ProfileFactory(
        home_latitude=D("40.81"), home_longitude=D("-96.7"), travel_rule="per_visit", travel_rate=D("20"),
        early_discount_percent=D(2), early_discount_days=10, locale="de-AT", currency="EUR", country="AT",
    )  # fmt: skip
    before = Profile.objects.values().get()

    answer = browser.post(at(section), filled_in(browser, section))

    assert (answer.status_code, answer.url) == (302, "/settings/")
    assert Profile.objects.values().get() == before


def test_the_first_page_says_what_is_chosen(browser):
    ProfileFactory(
        address="12 Mill Lane\nLincoln, NE 68501", travel_rule="round_trip", travel_rate=D("0.85"),
        minimum_call=D(60), home_is_principal_place_of_business=False, mileage_scheme="us_standard",
        lead_time_days=1,
    )  # fmt: skip

    said = words(browser.get("/settings/"))

    for line in (
        "Garrow Farriery, Lincoln, NE 68501, United States",
        "14 days to pay, $0.85 a mile for travel, with a share of the way back, at least $60.00 a stop.",
        "Home is not the principal place of business. Mileage rate: United States, standard rate.",
        "Moving weighted average. 1 day to a delivery, 7 days between orders.",
        "English (United States), US Dollar (USD), miles",
    ):
        assert line in said


def test_a_new_practice_begins_with_who_it_is(browser):
    answer = browser.get(at("billing"), follow=True)

    assert answer.redirect_chain == [(at("who"), 302)]
    assert "Fill this in first." in words(answer)
    assert "Not filled in yet." in words(browser.get("/settings/"))


def test_what_was_never_chosen_follows_the_country_and_what_was_stays(browser):
    browser.post(at("who"), {"name": "Anvil Lane Forge", "country": "US"})
    browser.post(at("language"), {"locale": "es-US", "currency": "USD", "distance_unit": "mi"})

    browser.post(at("who"), filled_in(browser, "who") | {"country": "AU"})

    practice = Profile.current()
    assert (practice.currency, practice.distance_unit, practice.mileage_scheme) == (
        *("AUD", "km", "au_cents_per_km"),
    )
    assert practice.locale == "es-US"


def test_once_there_is_work_the_country_changes_alone(browser):
    ProfileFactory(country="US")
    trim()

    browser.post(at("who"), filled_in(browser, "who") | {"country": "AU"})

    practice = Profile.current()
    assert (practice.country, practice.currency, practice.distance_unit) == ("AU", "USD", "mi")


def test_once_there_is_work_currency_distances_and_costing_are_fixed(browser):
    ProfileFactory()
    trim()

    browser.post(at("language"), {"locale": "de-DE", "currency": "EUR", "distance_unit": "km"})
    browser.post(at("shelf"), {"lead_time_days": "3", "review_period_days": "4", "valuation": "fifo"})

    practice = Profile.current()
    assert (practice.locale, practice.lead_time_days, practice.review_period_days) == ("de-DE", 3, 4)
    assert (practice.currency, practice.distance_unit, practice.valuation) == ("USD", "mi", "moving_average")


@pytest.mark.parametrize(
    ("section", "typed", "errors"),
    [
        ("who", {"country": "us-west"}, {"country": ["Choose one from the list."]}),
        ("language", {"currency": "XXX"}, {"currency": ["Choose one from the list."]}),
        ("language", {"locale": "Klingon"}, {"locale": ["Choose one from the list."]}),
        ("road", {"home_latitude": "91"}, {"home_latitude": ["Type a number up to 90, such as 40.81."]}),
        (
            "road",
            {"home_latitude": "40.8", "home_longitude": ""},
            {"home_longitude": ["Type both latitude and longitude, or neither."]},
        ),
        (
            "billing",
            {"payment_terms_days": "400"},
            {"payment_terms_days": ["Type a whole number from 0 to 365."]},
        ),
    ],
)
def test_what_is_refused_is_said_beside_its_field_and_changes_nothing(browser, section, typed, errors):
    ProfileFactory(home_latitude=D(40), home_longitude=D(-96))
    before = Profile.objects.values().get()

    answer = browser.post(at(section), filled_in(browser, section) | typed)

    assert answer.context["form"].errors == errors
    assert Profile.objects.values().get() == before


def test_a_choice_of_another_section_is_not_written_over(browser):
    ProfileFactory()
    sent = filled_in(browser, "shelf")
    Profile.objects.update(invoice_prefix="NEW")

    browser.post(at("shelf"), sent | {"lead_time_days": "3"})

    practice = Profile.current()
    assert (practice.invoice_prefix, practice.lead_time_days) == ("NEW", 3)
