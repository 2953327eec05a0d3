"""What nobody types into an address, a query or a form is answered, and never by an error of the program."""

import random
import re

import pytest

from tests.factories.practice import DAY
from tests.hostile import content_of_book, faults, hostile_keys, hostile_posts, hostile_queries
from tests.walk import book_of_all_pages

SEED = 20261014


def one_of_each(requests: dict[str, list], most: int = 450) -> list:
    """Return a request of each field, of at most so many fields; others for another seed."""
    chance = random.Random(SEED)
    names = chance.sample(sorted(requests), min(most, len(requests)))
    return [chance.choice(requests[name]) for name in names]


@pytest.fixture
def attacker(browser):
    """The test client, to which an error of the program is an answer as to any browser."""
    browser.raise_request_exception = False
    return browser


@pytest.fixture
def book(settings):
    settings.TODAY = DAY
    return book_of_all_pages()


# What once was an error of the program, and its answer since.
QUESTIONS = [
    ("/round/9999-12-31/", 404),
    ("/load/0001-01-01/", 404),
    ("/road/9999-12/", 404),
    ("/close/9999-12-31/", 404),
    ("/what-pays/9223372036854775807/", 404),
    ("/round/?day=9999-12-31", 404),
    ("/clients/{clients}/payments/add/?invoice=²", 404),
    ("/clients/{clients}/payments/add/?close=9999-12-31", 404),
    ("/round/2026-10-14/legs/{vehicles}/add/?visit=", 404),
    ("/round/2026-10-14/legs/{vehicles}/add/?visit=abc", 404),
    ("/round/2026-10-14/legs/{vehicles}/add/?visit=²", 404),
    ("/expenses/add/?again={repeating-expenses}&due=9999-12-31", 404),
    ("/expenses/add/?again=9223372036854775808&due=2026-10-14", 404),
    ("/round/2026-10-14/plan/?place=99999999999999999999", 200),
    ("/horses/all/?per_page=-1", 200),
    ("/horses/all/?q=" + "a" * 60_000, 200),
    ("/horses/all/?q=%00", 200),
    ("/find/?q=%00", 200),
    ("/items/{items}/?q=%00", 200),
]
POSTS = [
    ("/year/0/close/", {}, 404),
    ("/year/9999/close/", {}, 404),
    ("/year/1/pack/", {}, 404),
    ("/repeating-expenses/{repeating-expenses}/leave-out/", {"due": "9999-12-31"}, 404),
    ("/truck/plan/", {"item": "²"}, 302),
    ("/truck/plan/", {"item": "9" * 5000}, 302),
    ("/sun/", {"next": "nowhere"}, 302),
    ("/visits/{visits}/move/", {"date": "9999-12-31"}, 200),
    ("/visits/{visits}/move/", {"date": "0001-01-01"}, 200),
    ("/clients/{clients}/payments/add/", {"invoices": "9223372036854775808"}, 200),
    ("/deposits/add/", {"payments": "9223372036854775808"}, 200),
    ("/visits/{visits}/as-last-time/", {"horse": "9223372036854775808"}, 302),
    ("/visits/{visits}/horses/{horses}/", {"work": "1-" + "9" * 5000}, 200),
    ("/items/{items}/return/", {"date": "2026-10-14", "quantity": "999999999999"}, 200),
    ("/items/{items}/receive/", {"date": "2026-10-14", "quantity": "9" * 9, "unit_cost": "9" * 9}, 200),
]


@pytest.mark.django_db
def test_a_question_that_failed_once_is_answered(browser, book):
    answers = [(asked, browser.get(asked.format(**book)).status_code) for asked, _ in QUESTIONS]

    assert answers == QUESTIONS


@pytest.mark.django_db
def test_a_post_that_failed_once_is_answered_and_changes_nothing(browser, book):
    before = content_of_book()

    answers = [(path, data, browser.post(path.format(**book), data).status_code) for path, data, _ in POSTS]

    assert answers == POSTS
    assert content_of_book() == before


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("page", "links"),
    [
        ("/round/1990-01-01/", ["/round/1990-01-02/"]),
        ("/round/2036-12-31/", ["/round/2036-12-30/"]),
        ("/road/1990-01/", ["/road/1990-02/"]),
        ("/year/1990/", ["/year/1991/"]),
    ],
)
def test_where_the_days_of_a_book_end_no_link_leads_further(browser, book, page, links):
    content = browser.get(page).content.decode()

    assert re.findall(r'class="(?:go|act-3)" href="(/(?:round|road|year)/[0-9][^"]*)"', content) == links


@pytest.mark.django_db
def test_no_key_of_an_address_ends_in_an_error(attacker, book, caplog):
    requests = hostile_keys(book)

    assert faults(attacker, one_of_each(requests), caplog) == []


@pytest.mark.django_db
def test_no_parameter_of_a_query_ends_in_an_error(attacker, book, caplog, monkeypatch):
    requests = hostile_queries(attacker, book, monkeypatch)

    assert faults(attacker, one_of_each(requests), caplog) == []


@pytest.mark.django_db
def test_no_field_of_a_form_ends_in_an_error_or_saves_what_is_refused(attacker, book, caplog, monkeypatch):
    requests = hostile_posts(attacker, book, monkeypatch)

    assert faults(attacker, one_of_each(requests), caplog) == []
