"""The devices on which a login is in use are listed, and what is ended is out at once."""

import re
import sqlite3
from contextlib import closing, contextmanager
from datetime import timedelta
from html import unescape

import pytest
from django.contrib.auth import get_user
from django.contrib.sessions.models import Session
from django.db import DatabaseError, connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from practice.project import logins
from practice.project.logins import USED_EVERY, open_logins
from tests.factories.practice import ProfileFactory
from tests.processes import run_here

pytestmark = pytest.mark.django_db
PASSWORD = "six nails a shoe"
PHONE = "Mozilla/5.0 (Linux; Android 10; K) Chrome/156.0.0.0 Mobile Safari/537.36"
LAPTOP = "Mozilla/5.0 (X11; Linux x86_64; rv:144.0) Gecko/20100101 Firefox/144.0"
ON_PHONE, ON_LAPTOP = "Chrome on an Android phone", "Firefox on a Linux computer"


def device(agent: str) -> Client:
    """Return a browser that logged in on its login page."""
    browser = Client(headers={"user-agent": agent})
    browser.post("/login/", {"username": "farrier", "password": PASSWORD})
    return browser


@pytest.fixture
def phone(user):
    ProfileFactory()
    return device(PHONE)


@pytest.fixture
def laptop(user):
    return device(LAPTOP)


@contextmanager
def another_writer():
    """Hold the lock of a process that writes, as an import does."""
    if connection.vendor != "sqlite":
        yield
        return
    with closing(sqlite3.connect(connection.settings_dict["NAME"], isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield
        other.execute("ROLLBACK")


def is_in(browser: Client) -> bool:
    return browser.get("/settings/").status_code == 200


def words(answer) -> str:
    """Return what a page says, without its tags."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text)).split())


def listed(browser: Client) -> tuple[list[str], list[str]]:
    """Return the devices that the page shows: this one, and the others."""
    context = browser.get("/logins/").context
    return tuple([login.device for login, _ in context[part]] for part in ("this", "others"))


def name_on_page(browser: Client, wanted: str) -> str:
    """Return the name that ends a device, as its button carries it."""
    [login] = [login for login, _ in browser.get("/logins/").context["others"] if login.device == wanted]
    return login.name


def used(user) -> dict[str, object]:
    return {login.device: login.used for login in open_logins(user, "")}


def test_the_page_marks_this_device_and_lists_the_others_by_last_use(phone, laptop, monkeypatch):
    third = device("")
    later = timezone.now() + timedelta(hours=1)
    monkeypatch.setattr(logins.timezone, "now", lambda: later)
    laptop.get("/settings/")

    assert listed(phone) == ([ON_PHONE], [ON_LAPTOP, "An unknown device"])
    assert listed(third)[0] == ["An unknown device"]
    assert "In use now. Logged in on" in words(phone.get("/logins/"))


def test_a_device_that_is_ended_is_out_at_once_and_the_others_stay(phone, laptop):
    third = device("")

    answer = phone.post("/logins/", {"end": name_on_page(phone, ON_LAPTOP)}, follow=True)

    assert f"Logged out there: {ON_LAPTOP}." in words(answer)
    assert [is_in(each) for each in (phone, laptop, third)] == [True, False, True]
    assert laptop.get("/settings/").url == "/login/?next=/settings/"


def test_a_tap_of_htmx_on_a_device_that_is_out_leads_to_the_login(phone, laptop):
    phone.post("/logins/", {"end": "others"})

    answer = laptop.get("/horses/all/", headers={"hx-request": "true"})

    assert answer.headers["HX-Redirect"].startswith("/login/")


def test_all_others_end_together(phone, laptop):
    third = device("")

    answer = phone.post("/logins/", {"end": "others"}, follow=True)

    assert "Logged out on 2 other devices." in words(answer)
    assert [is_in(each) for each in (phone, laptop, third)] == [True, False, False]
    assert listed(phone) == ([ON_PHONE], [])


def test_a_device_that_is_gone_already_is_said_so(phone, laptop):
    name = name_on_page(phone, ON_LAPTOP)
    laptop.post("/logout/")

    answer = phone.post("/logins/", {"end": name}, follow=True)

    assert "That device was already logged out." in words(answer)
    assert is_in(phone)


@pytest.mark.parametrize("end", ["", "abc", "ü", "0" * 32])
def test_a_name_that_is_no_device_ends_nothing(phone, laptop, end):
    phone.post("/logins/", {"end": end})

    assert is_in(phone) and is_in(laptop)


def test_nobody_sees_or_ends_the_devices_of_another_login(phone, django_user_model):
    django_user_model.objects.create_user("helper", password=PASSWORD)
    helper = Client()
    helper.post("/login/", {"username": "helper", "password": PASSWORD})
    [login] = open_logins(get_user(phone), "")

    helper.post("/logins/", {"end": login.name})
    helper.post("/logins/", {"end": "others"})

    assert listed(helper) == (["An unknown device"], [])
    assert is_in(phone)


def test_no_page_carries_a_key_that_opens_a_session(phone, laptop):
    keys = Session.objects.values_list("session_key", flat=True)

    page = phone.get("/logins/").text

    assert [key for key in keys if key in page] == []


def test_last_use_is_written_once_in_a_while_and_not_with_each_page(phone, user, monkeypatch):
    def writes() -> int:
        with CaptureQueriesContext(connection) as queries:
            phone.get("/settings/")
        return sum("UPDATE" in query["sql"] for query in queries)

    began = timezone.now()
    soon, late = began + USED_EVERY / 2, began + 2 * USED_EVERY
    first = writes()
    monkeypatch.setattr(logins.timezone, "now", lambda: soon)
    again = writes()
    monkeypatch.setattr(logins.timezone, "now", lambda: late)
    later = writes()

    assert (first, again, later, writes()) == (0, 0, 1, 0)
    assert used(user) == {ON_PHONE: late.replace(microsecond=0)}


def test_being_used_puts_off_no_end_of_a_session(phone, monkeypatch):
    ends = Session.objects.get().expire_date
    late = timezone.now() + 2 * USED_EVERY
    monkeypatch.setattr(logins.timezone, "now", lambda: late)

    answer = phone.get("/settings/")

    assert (Session.objects.get().expire_date, answer.cookies) == (ends, {})


def test_a_page_is_shown_where_last_use_cannot_be_written(phone, monkeypatch):
    def full(*args, **kwargs):
        raise DatabaseError("database or disk is full")

    late = timezone.now() + 2 * USED_EVERY
    monkeypatch.setattr(logins.timezone, "now", lambda: late)
    monkeypatch.setattr("django.db.models.query.QuerySet.update", full)

    assert is_in(phone)


@pytest.mark.django_db(transaction=True)
def test_no_page_waits_for_another_writer_to_note_that_it_is_in_use(phone, user, monkeypatch):
    before, late = used(user), timezone.now() + 2 * USED_EVERY
    monkeypatch.setattr(logins.timezone, "now", lambda: late)

    with another_writer(), CaptureQueriesContext(connection) as queries:
        shown = is_in(phone)
    asked = [query["sql"] for query in queries if "busy_timeout=" in query["sql"]]

    waits = ["PRAGMA busy_timeout=100", "PRAGMA busy_timeout=20000"] if connection.vendor == "sqlite" else []
    assert (shown, asked) == (True, waits)
    assert used(user) == (
        before if connection.vendor == "sqlite" else {ON_PHONE: late.replace(microsecond=0)}
    )


def test_a_session_from_before_devices_were_noted_is_listed_since_it_began(phone, laptop):
    row = Session.objects.get(session_key=laptop.cookies["roundbook_session"].value)
    data = {name: value for name, value in row.get_decoded().items() if not name.startswith("login_")}
    Session.objects.filter(pk=row.pk).update(session_data=Session.objects.encode(data))

    [(login, _)] = phone.get("/logins/").context["others"]

    assert (login.device, login.used) == ("An unknown device", login.since)
    assert timezone.now() - timedelta(minutes=1) < login.since <= timezone.now()


def test_a_new_password_leaves_no_other_session_in_the_book(phone, laptop):
    new = "four feet and a hammer"

    phone.post("/password/", {"current": PASSWORD, "new": new, "again": new})

    [left] = Session.objects.values_list("session_key", flat=True)
    assert left == phone.cookies["roundbook_session"].value
    assert listed(phone) == ([ON_PHONE], [])


def test_changepassword_leaves_no_session_in_the_book(phone, laptop, monkeypatch):
    from practice.management.commands import changepassword

    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr(changepassword, "getpass", lambda question: "four feet and a hammer")

    run_here("changepassword", "farrier")

    assert Session.objects.count() == 0


def test_the_settings_lead_to_the_page(phone):
    assert 'href="/logins/"' in phone.get("/settings/").text
