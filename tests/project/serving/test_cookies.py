"""Cookies are Secure and bound to their host over https, and plain on this machine, in one process."""

import pytest
from django.conf import settings
from django.contrib.auth import get_user_model

from practice.project.serving.cookies import PREFIX

SESSION, CSRF = settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME
PASSWORD = "four-new-shoes-1"


@pytest.fixture
def log_in(client, db):
    """Return a function that logs in by the form, over https or not."""
    get_user_model().objects.create_user("anna", password=PASSWORD)

    def send(secure):
        client.get("/login/", secure=secure)
        return client.post("/login/", {"username": "anna", "password": PASSWORD}, secure=secure)

    return send


def flags(answer) -> dict:
    """Return of each cookie of an answer whether it is Secure, HttpOnly, and for which path and host."""
    return {
        name: (bool(morsel["secure"]), bool(morsel["httponly"]), morsel["path"], morsel["domain"])
        for name, morsel in answer.cookies.items()
    }


def test_over_https_cookies_are_secure_and_bound_to_this_host(log_in):
    assert flags(log_in(secure=True)) == {
        PREFIX + SESSION: (True, True, "/", ""),
        PREFIX + CSRF: (True, False, "/", ""),
    }


def test_on_this_machine_they_are_as_they_were(log_in):
    assert flags(log_in(secure=False)) == {SESSION: (False, True, "/", ""), CSRF: (False, False, "/", "")}


def test_a_login_over_https_is_one(log_in, client):
    log_in(secure=True)

    assert client.get("/settings/", secure=True).status_code == 200


def test_a_session_of_one_way_opens_nothing_on_the_other(log_in, client):
    log_in(secure=True)
    over_http = client.get("/")
    client.cookies.clear()
    log_in(secure=False)
    over_https = client.get("/", secure=True)

    assert [over_http.headers["Location"], over_https.headers["Location"]] == ["/login/?next=/"] * 2


def test_logging_out_over_https_takes_the_cookie_away(log_in, client):
    log_in(secure=True)

    answer = client.post("/logout/", secure=True)

    assert answer.cookies[PREFIX + SESSION]["max-age"] == 0
    assert flags(answer)[PREFIX + SESSION][0] is True


def test_every_other_cookie_is_secure_over_https_too(client, log_in):
    log_in(secure=True)

    answer = client.post("/sun/", secure=True)

    assert flags(answer)["sun"][0] is True


def test_a_post_from_another_site_is_refused_over_https(log_in, client):
    client.handler.enforce_csrf_checks = True
    client.get("/login/", secure=True)
    token = client.cookies[PREFIX + CSRF].value
    form = {"username": "anna", "password": PASSWORD, "csrfmiddlewaretoken": token}
    ways = {"HTTP_ORIGIN": "https://elsewhere.example"}, {"HTTP_ORIGIN": "https://testserver"}

    from_elsewhere, from_here = [client.post("/login/", form, secure=True, **way) for way in ways]

    assert (from_elsewhere.status_code, from_elsewhere.headers["Location"]) == (302, "/login/?next=/")
    assert (from_here.status_code, from_here.headers["Location"]) == (302, "/")
