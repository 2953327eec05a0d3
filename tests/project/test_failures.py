"""An unexpected error shows what became of the last step, and a number that the log has beside no secret."""

import json
import logging
import re

import pytest
from django.conf import settings
from django.http import HttpRequest, QueryDict

from practice.forms.people import ClientForm
from practice.lib.presses import new_press
from practice.models import Client
from practice.project import sent_forms
from practice.project.failures import NOT_SAVED, ONLY_LOOKED, SAVED, UNKNOWN
from practice.project.log import LogFile, LogText, new_error_number, without_secrets
from practice.reports import settings_page
from tests.factories.practice import ProfileFactory

NUMBER = re.compile(r"\b[2-9A-HJ-NP-Z]{4}-[2-9A-HJ-NP-Z]{4}\b")


class Broken(Exception):
    """Something that nobody expected."""


@pytest.fixture
def visitor(browser):
    """The test client, to which an error of the program is an answer as to any browser."""
    ProfileFactory()
    browser.raise_request_exception = False
    return browser


@pytest.fixture
def logged():
    """Return a function that gives what was logged since the test began."""
    log = settings.LOG_FILE
    size = log.stat().st_size if log.exists() else 0
    return lambda: log.read_bytes()[size:].decode()


@pytest.fixture
def broken_save(monkeypatch):
    """Let the form of a client fail as it saves; return a function that says with which words."""

    def fail(words: str = "the anvil fell"):
        def save(form, *args, **kwargs):
            Client.objects.create(name="Half a client")
            raise Broken(words)

        monkeypatch.setattr(ClientForm, "save", save)

    return fail


def a_client(**more) -> dict:
    return {"name": "Ada Lund", "billing": "per_day", **more}


def number_in(text: str) -> str:
    [number] = set(NUMBER.findall(text))
    return number


@pytest.mark.django_db
def test_an_error_while_looking_shows_its_number_and_the_log_has_what_happened(visitor, logged, monkeypatch):
    def fall(profile):
        raise Broken("the anvil fell")

    monkeypatch.setattr(settings_page, "who", fall)

    answer = visitor.get("/settings/")

    number = number_in(answer.text)
    assert (answer.status_code, answer.headers["Roundbook-Error"]) == (500, number)
    assert ONLY_LOOKED in answer.text and str(settings.LOG_FILE) in answer.text
    assert f"/settings/ (error {number})\n" in logged()
    assert "Broken: the anvil fell" in logged()


@pytest.mark.django_db
def test_a_form_that_failed_says_that_nothing_of_it_was_saved(visitor, broken_save):
    broken_save()

    answer = visitor.post("/clients/add/", a_client(uuid=new_press()))

    assert (answer.status_code, Client.objects.count()) == (500, 0)
    assert NOT_SAVED in answer.text
    assert [cookie.value for name, cookie in answer.cookies.items() if name.startswith("form_")] == ["not"]


@pytest.mark.django_db
def test_what_was_saved_before_the_error_is_said_to_be_saved(visitor, monkeypatch):
    monkeypatch.setattr(sent_forms, "COOKIE", None)

    answer = visitor.post("/clients/add/", a_client(uuid=new_press()))

    assert (answer.status_code, Client.objects.get().name) == (500, "Ada Lund")
    assert SAVED in answer.text


@pytest.mark.django_db
def test_without_a_press_nobody_claims_to_know(visitor, broken_save):
    broken_save()

    answer = visitor.post("/clients/add/", a_client())

    assert UNKNOWN in answer.text


@pytest.mark.django_db
def test_a_tap_of_htmx_gets_the_number_in_a_header(visitor, broken_save, logged):
    broken_save()
    typed = a_client(uuid=new_press())

    answer = visitor.post("/clients/add/", typed, headers={"hx-request": "true"})

    assert answer.status_code == 500 and NOT_SAVED in answer.text
    assert f"(error {answer.headers['Roundbook-Error']})" in logged()


@pytest.mark.django_db
def test_who_is_not_logged_in_is_not_told_where_the_log_is(client, monkeypatch):
    client.raise_request_exception = False
    monkeypatch.setattr("practice.project.login.Login.template_name", "no such template")

    answer = client.get("/login/")

    assert answer.status_code == 500 and number_in(answer.text)
    assert str(settings.DATA_DIR) not in answer.text


@pytest.mark.django_db
def test_nothing_secret_reaches_the_log(visitor, broken_save, logged, settings):
    settings.FIRST_PASSWORD = "hammer and tongs"
    mail = settings.DATA_DIR / "mail_password"
    mail.write_text(json.dumps({"host": "h", "username": "u", "password": "mail with 'quotes'"}))
    cookie = visitor.cookies["roundbook_session"].value
    secrets = [settings.SECRET_KEY, settings.FIRST_PASSWORD, "mail with 'quotes'", cookie]
    typed = {
        "csrfmiddlewaretoken": "c" * 64,
        "current": "six nails a shoe",
        "new": "four feet ü",
        "again": "x2 y4",
    }
    broken_save(" ".join([*secrets, *typed.values()]) + f" {secrets} {list(typed.values())}")

    visitor.post("/clients/add/", a_client(**typed))
    mail.unlink()

    said = logged()
    assert "Broken: [hidden] [hidden]" in said
    assert [each for each in (*secrets, *typed.values()) if each in said or repr(each)[1:-1] in said] == []


@pytest.mark.django_db
def test_the_address_of_a_shared_link_reaches_the_log_without_what_opens_it(client, logged):
    token = "eyJrIjoxfQ:1abcDE:" + "s" * 43

    client.get(f"/shared/{token}/")

    assert "/shared/[hidden]" in logged()
    assert token not in logged()


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        (
            "connecting to postgres://ann:anvil-7@db:5432/book",
            "connecting to postgres://ann:[hidden]@db:5432/book",
        ),
        ("FATAL: password=anvil-7 is wrong", "FATAL: password=[hidden] is wrong"),
        ("{'password': 'anvil 7', 'port': 25}", "{'password': [hidden], 'port': 25}"),
        ("Cookie: roundbook_session=abc123; sun=yes", "Cookie: roundbook_session=[hidden]; sun=yes"),
        ("Not Found: /shared/abc:def/pdf/", "Not Found: /shared/[hidden]/pdf/"),
        ("the password of the mail server is missing", "the password of the mail server is missing"),
        ("3 nails of 6", "3 nails of 6"),
    ],
)
def test_what_looks_like_a_secret_is_hidden_and_the_rest_stays(text, shown):
    assert without_secrets(text, []) == shown


def test_a_short_value_hides_no_words_of_the_log():
    request = HttpRequest()
    request._post = QueryDict("new=6&again=six")
    record = logging.makeLogRecord({"msg": "6 nails, six shoes", "request": request})

    assert LogText("{message}", style="{").format(record) == "6 nails, six shoes"


def test_numbers_of_errors_differ_and_can_be_read_aloud():
    numbers = {new_error_number() for _ in range(200)}

    assert len(numbers) == 200
    assert [number for number in numbers if not NUMBER.fullmatch(number)] == []


def test_the_log_begins_a_new_file_and_keeps_the_last_ones(tmp_path):
    log = LogFile(tmp_path / "log", maxBytes=100, backupCount=3, delay=True)

    for number in range(60):
        log.handle(logging.makeLogRecord({"msg": f"line {number:02}"}))

    assert sorted(path.name for path in tmp_path.iterdir()) == ["log", "log.1", "log.2", "log.3"]
    assert max(path.stat().st_size for path in tmp_path.iterdir()) <= 100
    assert "line 59" in (tmp_path / "log").read_text()
    assert settings.LOGGING["handlers"]["file"]["backupCount"] == 3


def test_a_process_goes_on_in_the_file_that_another_one_began(tmp_path):
    one, other = (LogFile(tmp_path / "log", backupCount=1, delay=True) for _ in range(2))
    for log in (one, other):
        log.handle(logging.makeLogRecord({"msg": "before"}))

    one.doRollover()
    for log in (other, one):
        log.handle(logging.makeLogRecord({"msg": "after"}))

    assert (tmp_path / "log").read_text() == "after\nafter\n"


def test_each_log_line_is_written_by_the_formatter_that_hides(settings):
    assert settings.LOGGING["formatters"]["plain"]["()"] == f"{LogText.__module__}.{LogText.__name__}"
