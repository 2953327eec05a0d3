"""Addresses name days, months, years, rows and words; what names none of them is no page."""

from datetime import date
from decimal import Decimal

import pytest
from django.http import Http404
from django.test import RequestFactory
from django.urls import Resolver404, resolve, reverse

from practice.lib.addresses import day_of, id_of, search_words
from tests.factories.practice import DAY

LAST_ID = 9223372036854775807


@pytest.fixture(autouse=True)
def _on_a_day(settings):
    settings.TODAY = DAY


@pytest.mark.parametrize(
    ("path", "read"),
    [
        ("/round/1990-01-01/", {"day": date(1990, 1, 1)}),
        ("/round/2036-12-31/", {"day": date(2036, 12, 31)}),
        ("/road/2026-10/", {"month": date(2026, 10, 1)}),
        ("/year/2036/", {"year": 2036}),
        (f"/clients/{LAST_ID}/", {"pk": LAST_ID}),
        ("/counts/0/", {"key": 0}),
        ("/round/2026-10-14/gaps/1/84218.4/", {"day": DAY, "vehicle": 1, "end": Decimal("84218.4")}),
    ],
)
def test_an_address_is_read_once_for_all_pages(path, read):
    assert {name: resolve(path).kwargs[name] for name in read} == read


@pytest.mark.parametrize(
    "day", ["0001-01-01", "1989-12-31", "2037-01-01", "9999-12-31", "2026-02-30", "2026-1-1"]
)
@pytest.mark.parametrize(
    "page", ["/round/{}/", "/round/{}/plan/", "/load/{}/", "/load/{}/pdf/", "/close/{}/", "/close/{}/right/"]
)
def test_a_day_that_no_book_is_about_has_no_page(page, day):
    with pytest.raises(Resolver404):
        resolve(page.format(day))


@pytest.mark.parametrize(
    "path",
    [
        "/road/9999-12/",
        "/road/2026-13/",
        "/road/0001-01/",
        "/year/0/close/",
        "/year/1/pack/",
        "/year/1989/",
        "/year/9999/close/",
        "/what-pays/9223372036854775807/",
        "/clients/0/",
        "/clients/²/",
        "/clients/٣/",
        f"/clients/{LAST_ID + 1}/",
        f"/clients/{'9' * 5000}/",
        "/counts/-1/",
        "/round/2026-10-14/gaps/1/1e400/",
        "/round/2026-10-14/gaps/1/NaN/",
        "/round/2026-10-14/gaps/1/9999999999/",
    ],
)
def test_what_names_no_month_year_row_or_reading_has_no_page(path):
    with pytest.raises(Resolver404):
        resolve(path)


@pytest.mark.parametrize(
    ("name", "key", "path"),
    [
        ("practice:round", DAY, "/round/2026-10-14/"),
        ("practice:round", "2026-10-14", "/round/2026-10-14/"),
        ("practice:road-month", DAY, "/road/2026-10/"),
        ("billing:year", 2026, "/year/2026/"),
        ("practice:client-detail", 7, "/clients/7/"),
    ],
)
def test_an_address_is_written_from_what_it_names(name, key, path):
    assert reverse(name, args=[key]) == path


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("7", 7),
        ("", None),
        ("abc", None),
        ("²", None),
        ("٣", None),
        ("-1", None),
        ("0", None),
        ("9" * 5000, None),
    ],
)
def test_the_key_of_a_row_is_read_as_in_addresses(text, key):
    assert id_of(text) == key


@pytest.mark.parametrize("text", ["", "20261014", "2026-W42-3", "2026-02-30", "9999-12-31", "2026-10-14\n"])
def test_a_day_of_a_query_or_a_post_is_read_as_in_addresses(text):
    assert day_of("2026-10-14") == DAY
    with pytest.raises(Http404):
        day_of(text)


@pytest.mark.parametrize(
    ("typed", "searched"), [(" Juno ", "Juno"), ("Ju\0no", "Juno"), ("a" * 60_000, "a" * 200), ("", "")]
)
def test_search_words_are_as_many_as_the_field_takes(typed, searched):
    assert search_words(RequestFactory().get("/find/", {"q": typed})) == searched
