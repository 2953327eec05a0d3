"""The health page: public, and it names what is wrong."""

import pytest
from django.conf import settings
from django.db import OperationalError, connection

from practice.project import system


@pytest.mark.django_db
def test_a_sound_book_answers_ok_to_anyone(client):
    answer = client.get("/health/")

    assert answer.status_code == 200
    assert answer.json() == {"status": "ok", "version": settings.VERSION, "database": "ok", "pdf": "ok"}


@pytest.mark.django_db
def test_a_database_that_fails_is_503_with_the_reason(client):
    def refuse(*_):
        raise OperationalError("the disk is\n full")

    with connection.execute_wrapper(refuse):
        answer = client.get("/health/")

    reason = "The database is not available: the disk is full"
    assert answer.status_code == 503
    assert answer.json() == {
        "status": reason,
        "version": settings.VERSION,
        "database": reason,
        "pdf": "ok",
    }


def test_a_login_does_not_keep_the_health_page_from_saying_that_the_database_fails(browser):
    """Session and user are in the database, too; nothing may ask for them here."""
    asked = []

    def refuse(_, sql, *more):
        asked.append(sql)
        raise OperationalError("the disk is full")

    with connection.execute_wrapper(refuse):
        answer = browser.get("/health/")

    assert (answer.status_code, answer.json()["status"]) == (
        503,
        "The database is not available: the disk is full",
    )
    assert asked == ["SELECT 1 FROM practice_profile LIMIT 1"]


@pytest.mark.django_db
def test_without_pango_the_book_is_sound_but_for_its_pdfs(client, monkeypatch):
    monkeypatch.setattr(system, "LIBRARIES_ELSEWHERE", ["libpango-that-is-not-here.so.0"])

    answer = client.get("/health/")

    assert answer.status_code == 200
    assert answer.json() == {
        "status": "ok",
        "version": settings.VERSION,
        "database": "ok",
        "pdf": "PDFs need the Pango library. To install it: sudo apt-get install -y --no-install-recommends"
        " libpangoft2-1.0-0 libharfbuzz-subset0",
    }


def test_the_health_page_only_answers_to_get(client):
    assert client.post("/health/").status_code == 405
