"""Every page is private, the door shuts after five wrong passwords, and pages carry strict headers."""

import re
import runpy
from datetime import date, datetime, timedelta
from http import HTTPStatus
from math import ceil

import pytest
from axes.models import AccessAttempt
from django.conf import settings
from django.contrib.auth import get_user
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.core.management import CommandError
from django.http import HttpResponse
from django.urls import URLPattern, get_resolver, path
from django.utils import timezone
from django.utils.module_loading import import_string

from tests.factories.practice import ProfileFactory
from tests.processes import ROOT, run_here

PASSWORD = "six nails a shoe"


def patterns_under(resolver):
    for pattern in resolver.url_patterns:
        if isinstance(pattern, URLPattern):
            yield pattern
        else:
            yield from patterns_under(pattern)


def test_every_page_is_private_but_login_pairing_health_the_program_and_what_a_link_opens():
    everything = list(patterns_under(get_resolver()))
    public = {each.name for each in everything if not getattr(each.callback, "login_required", True)}

    # phone-state says who is logged in, and of the book only how much is to settle, to those who are.
    program = {"phone-manifest", "phone-worker", "phone-not-kept", "phone-state"}
    pairing = {"phone-pair", "phone-trust", "phone-authority"}
    assert public == {"login", "health", "shared", "shared-pdf", *program, *pairing}
    assert len(everything) > len(public)


def test_a_private_page_leads_to_the_login_and_back(client, user):
    turned_away = client.get("/")
    let_in = client.post(turned_away.url, {"username": "farrier", "password": PASSWORD, "next": "/"})

    assert (turned_away.status_code, turned_away.url) == (HTTPStatus.FOUND, "/login/?next=/")
    assert (let_in.status_code, let_in.url) == (HTTPStatus.FOUND, "/")
    assert get_user(client).username == "farrier"


def test_a_wrong_password_is_said_without_saying_which_of_the_two_is_wrong(client, user):
    pages = [
        client.post("/login/", {"username": name, "password": "guessed"}) for name in ("farrier", "nobody")
    ]

    said = [page.context["form"].non_field_errors() for page in pages]
    assert said == [["Wrong name or password. Try again."]] * 2
    assert not get_user(client).is_authenticated


def test_the_door_shuts_at_the_fifth_wrong_password_and_says_until_when(client, user):
    wrong, began = {"username": "farrier", "password": "guessed"}, timezone.now()
    answers = [client.post("/login/", wrong).status_code for _ in range(4)]

    locked = client.post("/login/", wrong)
    right = client.post("/login/", {"username": "farrier", "password": PASSWORD})

    assert answers == [HTTPStatus.OK] * 4
    assert locked.status_code == HTTPStatus.TOO_MANY_REQUESTS
    assert says_to_wait(locked, 900, began)
    earliest, latest = (moment + timedelta(minutes=15) for moment in (began, timezone.now()))
    assert earliest - timedelta(seconds=1) < locked.context["again"] < latest + timedelta(minutes=1)
    assert f"Login is locked until {locked.context['again']:%-I:%M %p}." in locked.text
    assert right.status_code == HTTPStatus.TOO_MANY_REQUESTS
    assert not get_user(client).is_authenticated


def test_the_door_stays_open_to_another_machine(client, user):
    for _ in range(5):
        client.post("/login/", {"username": "farrier", "password": "guessed"}, REMOTE_ADDR="10.0.0.66")

    client.post("/login/", {"username": "farrier", "password": PASSWORD}, REMOTE_ADDR="10.0.0.7")

    assert get_user(client).username == "farrier"


def test_the_door_opens_again_when_the_wait_is_over(client, user):
    for _ in range(5):
        client.post("/login/", {"username": "farrier", "password": "guessed"})
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=15, seconds=1))

    client.post("/login/", {"username": "farrier", "password": PASSWORD})

    assert get_user(client).username == "farrier"


def says_to_wait(answer, seconds: int, began: datetime) -> bool:
    """Whether a locked door opens so many seconds after it all began, as far as those have not passed yet."""
    passed = ceil((timezone.now() - began).total_seconds())
    return seconds - passed <= int(answer.headers["Retry-After"]) <= seconds


def fail(client, times, **headers):
    for _ in range(times):
        answer = client.post("/login/", {"username": "farrier", "password": "guessed"}, **headers)
    return answer


def make_older(by: timedelta) -> None:
    """Let time pass for the wrong passwords so far."""
    for attempt in AccessAttempt.objects.all():
        attempt.attempt_time -= by
        attempt.save()


def test_the_door_opens_when_it_was_said_to_whoever_tries_on(client, user):
    began = timezone.now()
    fail(client, 5)
    make_older(timedelta(minutes=10))
    later = fail(client, 3)
    make_older(timedelta(minutes=5, seconds=1))

    client.post("/login/", {"username": "farrier", "password": PASSWORD})

    assert says_to_wait(later, 300, began)
    assert later.context["again"] - timezone.now() < timedelta(minutes=6)
    assert get_user(client).username == "farrier"


def test_the_end_of_the_wait_is_that_of_the_wrong_passwords_that_make_it(client, user):
    """Each browser has a count of its own: without the four of the first, the second one's are too few."""
    began = timezone.now()
    fail(client, 4, HTTP_USER_AGENT="first")
    make_older(timedelta(minutes=6))
    locked = fail(client, 2, HTTP_USER_AGENT="second")

    assert locked.status_code == HTTPStatus.TOO_MANY_REQUESTS
    assert says_to_wait(locked, 540, began)


def test_unlock_ends_the_wait_of_one_login(client, user, django_user_model, capsys):
    fail(client, 5)
    other = {"username": "helper", "password": "guessed"}
    for _ in range(5):
        client.post("/login/", other)
    django_user_model.objects.create_user("helper")

    exit_codes = [run_here("unlock", "farrier"), run_here("unlock", "farrier")]
    still_locked = client.post("/login/", other)
    client.post("/login/", {"username": "farrier", "password": PASSWORD})

    assert (exit_codes, capsys.readouterr().out) == (
        [0, 0],
        "farrier can log in again.\nfarrier was not locked out.\n",
    )
    assert get_user(client).username == "farrier"
    assert still_locked.status_code == HTTPStatus.TOO_MANY_REQUESTS


def test_unlock_of_nobody_is_refused(db):
    with pytest.raises(CommandError, match="There is no login named 'anna'.") as refused:
        run_here("unlock", "anna")

    assert refused.value.returncode == 2


def test_over_https_the_cookies_belong_to_this_host_alone(tmp_path, monkeypatch):
    monkeypatch.setenv("ROUNDBOOK_DATA", str(tmp_path))
    monkeypatch.setenv("ROUNDBOOK_HTTPS", "yes")

    read = runpy.run_path(str(ROOT / "practice" / "project" / "settings.py"))

    for cookie in ("SESSION_COOKIE", "CSRF_COOKIE"):
        assert read[f"{cookie}_NAME"].startswith("__Host-roundbook_")
        # Without these, browsers refuse a cookie of such a name (RFC 6265bis, 4.1.3.2).
        assert read[f"{cookie}_SECURE"] is True
        assert (f"{cookie}_DOMAIN" in read, f"{cookie}_PATH" in read) == (False, False)


def test_no_page_and_no_figures_stay_in_the_browser(browser):
    ProfileFactory()

    answers = {path: browser.get(path) for path in ["/", "/road/log/csv/?year=2026", "/no/such/page/"]}

    assert {path: answer.headers["Cache-Control"] for path, answer in answers.items()} == dict.fromkeys(
        answers, "private, no-store"
    )
    assert [answer.has_header("ETag") for answer in answers.values()] == [False] * 3


def test_a_paper_stays_in_the_browser_but_is_asked_for_each_time(browser, settings):
    settings.ROOT_URLCONF = __name__

    first = browser.get("/paper/")
    again = browser.get("/paper/", HTTP_IF_NONE_MATCH=first.headers["ETag"])
    other = browser.get("/paper/?of=another", HTTP_IF_NONE_MATCH=first.headers["ETag"])

    assert first.headers["Cache-Control"] == "private, no-cache"
    assert (again.status_code, again.content) == (HTTPStatus.NOT_MODIFIED, b"")
    assert (other.status_code, other.content) == (HTTPStatus.OK, b"%PDF-another")


def test_passwords_are_kept_as_argon2():
    from practice.project import settings as written  # what the tests make quicker is not in it

    [hasher] = written.PASSWORD_HASHERS
    assert import_string(hasher) is Argon2PasswordHasher


def test_logging_out_takes_a_post(browser):
    refused = browser.get("/logout/")
    logged_in_still = get_user(browser).is_authenticated
    out = browser.post("/logout/")

    assert (refused.status_code, refused.url, logged_in_still) == (HTTPStatus.FOUND, "/", True)
    assert (out.status_code, out.url) == (HTTPStatus.FOUND, "/login/")
    assert not get_user(browser).is_authenticated


@pytest.mark.django_db
def test_each_answer_carries_strict_headers(client):
    headers = client.get("/login/").headers

    policy = dict(part.strip().split(" ", 1) for part in headers["Content-Security-Policy"].split(";"))
    own = ["script-src", "style-src", "font-src", "connect-src", "manifest-src", "worker-src", "form-action"]
    assert policy == {
        "default-src": "'none'",
        **dict.fromkeys(own, "'self'"),
        "img-src": "'self' data:",
        "frame-ancestors": "'none'",
        "base-uri": "'none'",
    }
    assert {
        name: headers[name]
        for name in (
            "X-Frame-Options",
            "X-Content-Type-Options",
            "Referrer-Policy",
            "Cross-Origin-Opener-Policy",
        )
    } == {
        "X-Frame-Options": "DENY",
        "X-Content-Type-Options": "nosniff",
        "Referrer-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
    }


def test_cookies_are_out_of_reach_of_scripts_and_of_other_sites(client, user):
    client.post("/login/", {"username": "farrier", "password": PASSWORD})

    cookie = client.cookies[settings.SESSION_COOKIE_NAME]
    assert (cookie["httponly"], cookie["samesite"], cookie["secure"]) == (True, "Lax", "")


def test_an_unknown_address_says_where_to_go(browser):
    answer = browser.get("/no/such/page/")

    assert answer.status_code == HTTPStatus.NOT_FOUND
    assert "Page not found." in answer.text


def test_a_form_of_an_old_page_is_refused_in_words(user, client_that_checks_forms):
    client_that_checks_forms.force_login(user)

    answer = client_that_checks_forms.post("/logout/")

    assert answer.status_code == HTTPStatus.FORBIDDEN
    assert "Not saved: this page was out of date." in answer.text
    assert get_user(client_that_checks_forms).is_authenticated


@pytest.fixture
def client_that_checks_forms():
    from django.test import Client

    return Client(enforce_csrf_checks=True)


@pytest.mark.django_db
def test_a_page_says_that_the_date_is_fixed(client, settings):
    settings.TODAY = None
    without = client.get("/login/").text
    settings.TODAY = date(2026, 10, 14)
    fixed = client.get("/login/").text

    said = re.compile(r"Today is set to [^<]*")
    assert (said.findall(without), said.findall(fixed)) == ([], ["Today is set to 2026-10-14 for testing."])


def test_a_page_that_breaks_says_where_the_reason_is(browser, settings):
    settings.ROOT_URLCONF = __name__
    browser.raise_request_exception = False

    answer = browser.get("/broken/")

    assert answer.status_code == HTTPStatus.INTERNAL_SERVER_ERROR
    assert "Something went wrong on this page." in answer.text
    assert "no horses left" in settings.LOG_FILE.read_text()


def break_down(request):
    raise ZeroDivisionError("no horses left")


def paper(request):
    return HttpResponse(f"%PDF-{request.GET.get('of', 'one')}", content_type="application/pdf")


urlpatterns = [path("broken/", break_down), path("paper/", paper)]
handler500 = "practice.project.failures.server_error"
