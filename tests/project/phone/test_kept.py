"""Which pages a phone keeps: those of three days' work, and no others."""

import re
from datetime import date, timedelta

import pytest
from django.contrib import messages
from django.contrib.messages.storage.cookie import CookieStorage
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import resolve, reverse

from practice.models import Horse, Visit
from practice.project.book.importer import import_book
from practice.project.phone.kept import KEPT_RESTS_ON, addresses
from tests.factories.practice import (
    DAY,
    FindingFactory,
    HorseFactory,
    PlaceFactory,
    ProfileFactory,
    VisitFactory,
)
from tests.project.small_book import write_small_book

pytestmark = pytest.mark.django_db
TOMORROW = DAY + timedelta(1)
# Names of the addresses that may be kept. Whoever adds a page to what is kept adds it here, with care: all
# of it lies on a phone that may be lost.
MAY_BE_KEPT = {
    "phone-entries",
    "billing:payment-add",
    "phone-kept",
    "practice:feet-on-phone",
    "practice:finding-add",
    "practice:finding-on-phone",
    "practice:finding-told",
    "practice:horse-add-on-phone",
    "practice:horse-on-phone",
    "practice:round",
    "practice:service-list",
    "practice:visit-detail",
    "practice:visit-feet",
    "practice:visit-horse",
    "practice:visit-horse-add",
    "practice:visit-horse-on-phone",
    "practice:visit-next-call",
    "practice:visit-on-phone",
    "practice:visit-plan",
    "stock:truck",
}
# What is read for any page: who is there, and what the book keeps of its own state.
OF_EVERY_PAGE = {"auth_user", "django_session", "practice_phoneentry", "practice_stamp"}


@pytest.fixture
def rounds(settings):
    """A stop on each of four days, a canceled one, and one at a barn without horses."""
    settings.TODAY = DAY
    ProfileFactory()
    barn = PlaceFactory(name="High Barn")
    HorseFactory(name="Juno", place=barn)
    HorseFactory(name="Old Tom", place=barn, status="retired")
    HorseFactory(name="Elsewhere")
    for ahead in (-1, 0, 1, 2, 3):
        VisitFactory(date=DAY + timedelta(ahead), place=barn, status="planned")
    VisitFactory(date=DAY, place__name="Canceled Barn", status="cancelled")
    VisitFactory(date=TOMORROW, place__name="Empty Barn", status="planned")
    return barn


def kept(browser) -> dict:
    return browser.get(reverse("phone-kept-list")).json()


def tables_read(asked) -> set[str]:
    return {table for query in asked for table in re.findall(r'(?:FROM|JOIN) "(\w+)"', query["sql"])}


def bring_small_book(tmp_path) -> date:
    """Bring in the small book, plan a stop at one of its places, and return the day of it."""
    write_small_book(tmp_path / "book")
    assert import_book(tmp_path / "book").problems == []
    Horse.objects.update(next_call=date(2026, 10, 20))  # due, so that their owners may pay there
    place = Horse.objects.filter(status="active", place__isnull=False).first().place
    return VisitFactory(date=date(2026, 10, 20), place=place, status="planned").date


def test_the_rounds_of_three_days_are_kept_with_their_stops_and_horses(rounds, browser):
    said = [page["what"] for page in kept(browser)["addresses"]]

    forms = ["A new horse, {}", "Work on a new horse, {}", "Next visit, {}"]
    new = [
        "A new stop",
        "A new horse at a new stop",
        "Work on a new horse at a new stop",
        "A finding on a new horse",
        "Shoeing record of a new horse",
    ]
    stop = [
        "Stop, High Barn",
        "Juno, High Barn",
        "Finding, Juno",
        "Shoeing record, Juno",
        *(name.format("High Barn") for name in forms),
    ]
    empty = ["Stop, Empty Barn", *(name.format("Empty Barn") for name in forms)]
    assert said == [
        "On this phone",
        *("Round, Oct 14, 2026", "Round, Oct 15, 2026", "Round, Oct 16, 2026"),
        "A stop on today's round",
        *new,
        *(*stop, *stop, *empty, *stop),
        *("Prices", "Items on the truck", "What this phone keeps"),
    ]


def test_nothing_else_is_kept_and_everything_that_is_opens(browser, tmp_path, settings):
    settings.TODAY = bring_small_book(tmp_path)

    paths = [page["path"] for page in kept(browser)["addresses"]]

    assert {resolve(path.partition("?")[0]).view_name for path in paths} == MAY_BE_KEPT
    assert {browser.get(path).status_code for path in paths} == {200}


def test_of_a_stop_that_is_billed_only_its_page_is_kept(rounds, browser):
    Visit.objects.filter(date=DAY, status="planned").update(status="done", locked=True)

    said = [page["what"] for page in kept(browser)["addresses"]]

    assert (said.count("Stop, High Barn"), said.count("Juno, High Barn")) == (3, 2)


def test_a_login_gets_the_list_under_a_name_of_its_own_and_nobody_else_gets_one(
    rounds, browser, client, django_user_model
):
    other = django_user_model.objects.create_user("apprentice", password="six nails a shoe")
    first = kept(browser)
    client.logout()
    answer = client.get(reverse("phone-kept-list"))
    client.force_login(other)
    second = kept(client)

    assert (answer.status_code, answer.url) == (302, "/login/?next=/phone/kept.json")
    assert first["login"] != second["login"]
    assert first["stamp"] != second["stamp"]
    assert first["rounds"] == ["/round/2026-10-14/", "/round/2026-10-15/", "/round/2026-10-16/"]


CHANGES = {
    "a horse's cautions": lambda: Horse.objects.update(cautions="Kicks."),
    "one more stop": lambda: VisitFactory(date=DAY),
    "a finding": lambda: FindingFactory(visit=Visit.objects.filter(date=DAY).first()),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_the_stamp_is_another_one_after_a_change_and_the_same_without(rounds, browser, change):
    stamps = [kept(browser)["stamp"], kept(browser)["stamp"]]
    change()
    stamps.append(kept(browser)["stamp"])

    assert (stamps[0] == stamps[1], stamps[1] == stamps[2]) == (True, False)


def test_the_next_day_and_another_program_have_stamps_of_their_own(rounds, browser, settings):
    stamps = [kept(browser)["stamp"]]
    settings.TODAY = TOMORROW
    stamps.append(kept(browser)["stamp"])
    settings.VERSION = "another"
    stamps.append(kept(browser)["stamp"])

    assert len(set(stamps)) == 3


def test_the_list_is_not_worked_out_again_while_nothing_changed(rounds, browser):
    kept(browser)

    with CaptureQueriesContext(connection) as asked:
        kept(browser)

    assert tables_read(asked) <= OF_EVERY_PAGE


def test_every_table_that_a_kept_page_reads_has_its_triggers(browser, tmp_path, settings):
    """A query of another table that comes in one day fails here, until that table is named."""
    settings.TODAY = bring_small_book(tmp_path)

    with CaptureQueriesContext(connection) as asked:
        for page in addresses(settings.TODAY):
            browser.get(page.path)

    assert tables_read(asked) - {model._meta.db_table for model in KEPT_RESTS_ON} - OF_EVERY_PAGE == set()


def test_a_page_that_is_fetched_to_be_kept_takes_no_message_away(rounds, browser, rf):
    request = rf.get("/")
    request._messages = CookieStorage(request)
    messages.success(request, "Saved. Juno is next.")
    waiting = request._messages._encode(request._messages._queued_messages)
    browser.cookies["messages"] = waiting
    path = f"/round/{DAY}/"

    quiet = browser.get(path, headers={"Roundbook-Kept": "1"})
    still = browser.cookies["messages"].value
    seen = browser.get(path)

    assert ("Juno is next" in quiet.content.decode(), still) == (False, waiting)
    assert ("Juno is next" in seen.content.decode(), browser.cookies["messages"].value) == (True, "")
