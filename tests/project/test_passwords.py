"""A password is checked wherever it is set, and whoever changes it ends every other session."""

import sys
from http import HTTPStatus

import pytest
from django.contrib.auth import get_user, get_user_model
from django.core.management import CommandError
from django.test import Client

from practice.lib.errors import RuleBroken
from practice.management.commands import changepassword
from practice.project.passwords import check_first_password, made_up_password, problems_of
from tests.processes import run_command, run_here

OLD, NEW = "six nails a shoe", "four feet and a hammer"


def typed(current=OLD, new=NEW, again=None):
    return {"current": current, "new": new, "again": new if again is None else again}


@pytest.mark.parametrize(
    ("password", "problems"),
    [
        (NEW, []),
        ("demo-password-1", []),
        ("elevenchars", ["Use at least 12 characters."]),
        ("Qwerty123456", ["This is a common password. Choose another one."]),
        ("the.farriers", ["This is too much like the login's name. Choose another one."]),
        ("814705936274", ["Use letters as well as digits."]),
        (
            "password",
            ["Use at least 12 characters.", "This is a common password. Choose another one."],
        ),
    ],
)
def test_what_is_wrong_with_a_password_is_said(password, problems):
    assert problems_of(password, get_user_model()(username="thefarrier")) == problems


def test_a_password_that_is_made_up_may_be_used():
    assert problems_of(made_up_password(), get_user_model()(username="farrier")) == []
    assert made_up_password() != made_up_password()


def test_a_changed_password_ends_every_other_session_and_not_this_one(browser, user):
    other = Client()
    other.force_login(user)

    answer = browser.post("/password/", typed())

    assert (answer.status_code, answer.url) == (HTTPStatus.FOUND, "/settings/")
    assert (get_user(browser).username, get_user(other).is_authenticated) == ("farrier", False)
    assert "Password changed. Any other device has to log in again." in browser.get("/settings/").text
    user.refresh_from_db()
    assert (user.check_password(NEW), user.check_password(OLD)) == (True, False)


@pytest.mark.parametrize(
    ("post", "errors"),
    [
        (typed(current="guessed"), {"current": ["This is not your current password. Type it again."]}),
        (typed(new="short"), {"new": ["Use at least 12 characters."]}),
        (typed(again="four feet"), {"again": ["This differs from the new password. Type both again."]}),
        ({}, dict.fromkeys(("current", "new", "again"), ["This cannot be blank."])),
    ],
)
def test_a_password_that_is_refused_changes_nothing(browser, user, post, errors):
    page = browser.post("/password/", post)

    assert (page.status_code, page.context["form"].errors) == (HTTPStatus.OK, errors)
    assert OLD not in page.text
    user.refresh_from_db()
    assert user.check_password(OLD)


def test_the_fifth_wrong_password_on_the_page_leads_to_the_same_wait(browser, user):
    answers = [browser.post("/password/", typed(current="guessed")).status_code for _ in range(5)]
    right = browser.post("/password/", typed())

    assert answers == [HTTPStatus.OK] * 4 + [HTTPStatus.TOO_MANY_REQUESTS]
    assert right.status_code == HTTPStatus.TOO_MANY_REQUESTS
    user.refresh_from_db()
    assert user.check_password(OLD)


def test_the_settings_lead_to_the_page(browser):
    assert 'href="/password/"' in browser.get("/settings/").text


def test_the_first_password_is_checked_too():
    check_first_password("demo", "demo-password-1")

    with pytest.raises(RuleBroken, match="^ROUNDBOOK_PASSWORD: Use at least 12 characters.$"):
        check_first_password("anna", "nailhammer")


def test_a_start_with_a_weak_password_makes_no_login_and_no_demo(empty_book):
    login = {"ROUNDBOOK_USER": "anna", "ROUNDBOOK_PASSWORD": "smithy"}

    ended = run_command("start", "--no-browser", **empty_book, **login)

    assert (ended.returncode, ended.stdout) == (2, "")
    assert ended.stderr == "ROUNDBOOK_PASSWORD: Use at least 12 characters.\n"


@pytest.fixture
def terminal(monkeypatch):
    """Return a function that lets a terminal answer the questions to come."""

    def answer(*answers):
        left = iter(answers)
        monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
        monkeypatch.setattr(changepassword, "getpass", lambda question: next(left))

    return answer


def test_changepassword_asks_until_the_password_may_be_used(user, terminal, capsys):
    terminal("short", NEW, "another", NEW, NEW)

    assert run_here("changepassword", "farrier") == 0

    said = capsys.readouterr()
    assert said.out == "Password of farrier changed. Every device has to log in again.\n"
    assert said.err == "Use at least 12 characters.\nThe two passwords differ.\n"
    user.refresh_from_db()
    assert user.check_password(NEW)


def test_changepassword_gives_up_after_three_tries(user, terminal):
    terminal("short", "shorter", "shortest", NEW, NEW)

    with pytest.raises(CommandError, match="The password was not changed."):
        run_here("changepassword", "farrier")

    user.refresh_from_db()
    assert user.check_password(OLD)


@pytest.mark.parametrize(
    ("name", "message"),
    [
        (
            "farrier",
            "changepassword asks for the new password on a terminal, and there is none. Run it in one, or log"
            " in and change the password under Settings.",
        ),
        ("anna", "There is no login named 'anna'."),
    ],
)
def test_changepassword_says_what_to_do_where_it_cannot_ask(user, monkeypatch, name, message):
    monkeypatch.setattr(sys.stdin, "isatty", lambda: False, raising=False)

    with pytest.raises(CommandError) as refused:
        run_here("changepassword", name)

    assert (str(refused.value), refused.value.returncode) == (message, 2)
