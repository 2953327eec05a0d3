"""A form that is sent twice is saved once; the device hears of it; a login leads back to the form."""

import pytest
from django.contrib.messages import get_messages
from django.test import Client as Browser

from practice.models import Client
from tests.factories.practice import ProfileFactory

pytestmark = pytest.mark.django_db
TOKEN = "0123456789abcdef" * 2
TYPED = {"name": "Petra Quill", "billing": "per_day", "uuid": TOKEN}


def said(answer) -> str | None:
    cookie = answer.cookies.get(f"form_{TOKEN}")
    return cookie.value if cookie else None


def test_the_device_hears_whether_its_form_was_saved(browser):
    ProfileFactory()

    refused = browser.post("/clients/add/", TYPED | {"name": ""})
    saved = browser.post("/clients/add/", TYPED)
    other = browser.post("/clients/add/", TYPED | {"uuid": "<script>"})

    assert [said(answer) for answer in (refused, saved, other)] == ["not", "saved", None]


def test_a_form_that_is_sent_again_as_it_was_is_not_saved_again(browser):
    ProfileFactory()

    answers = [browser.post("/clients/add/", TYPED) for _ in range(2)]

    assert [answer.url for answer in answers] == [Client.objects.get().get_absolute_url()] * 2
    words = [str(message) for message in get_messages(answers[1].wsgi_request)]
    assert words[-1] == "This was saved before, so it was not saved again."
    assert said(answers[1]) == "saved"


def test_a_form_that_was_changed_or_refused_since_is_saved(browser):
    ProfileFactory()
    browser.post("/clients/add/", TYPED)

    browser.post("/clients/add/", TYPED | {"name": "Ann Thorpe"})
    browser.post("/clients/add/", TYPED | {"name": ""})
    browser.post("/clients/add/", TYPED | {"name": "Bo Lark"})

    names = list(Client.objects.order_by("pk").values_list("name", flat=True))
    assert names == ["Petra Quill", "Ann Thorpe", "Bo Lark"]


def test_another_login_may_send_the_same_token(browser, client, django_user_model):
    ProfileFactory()
    browser.post("/clients/add/", TYPED)
    Client.objects.all().delete()
    client.force_login(django_user_model.objects.create_user("helper"))

    client.post("/clients/add/", TYPED)

    assert Client.objects.get().name == "Petra Quill"


def test_a_rule_that_says_no_in_a_message_is_no_saved_form(browser):
    ProfileFactory()

    answer = browser.post("/load/2026-11-27/", {"uuid": TOKEN})

    [refusal] = get_messages(answer.wsgi_request)
    assert (answer.status_code, refusal.level_tag, said(answer)) == (302, "error", "not")


PAGE = "http://testserver/clients/7/change/?from=list"


@pytest.mark.parametrize(
    ("headers", "target"),
    [
        ({"Referer": PAGE}, "/login/?next=/clients/7/change/%3Ffrom%3Dlist"),
        ({}, "/login/?next=/"),
        ({"Referer": "http://elsewhere.example/clients/7/"}, "/login/?next=/"),
    ],
)
def test_a_form_of_an_ended_session_leads_to_the_login_and_back_to_its_page(client, headers, target):
    answer = client.post("/visits/1/cancel/", {"uuid": TOKEN}, headers=headers)

    assert (answer.status_code, answer.url, said(answer)) == (302, target, "not")


def test_htmx_leaves_for_the_login_and_swaps_nothing_in(client):
    answer = client.post("/visits/1/horses/2/", headers={"HX-Request": "true", "HX-Current-URL": PAGE})

    assert answer.headers["HX-Redirect"] == "/login/?next=/clients/7/change/%3Ffrom%3Dlist"
    assert answer.content == b""


def test_a_page_from_before_the_login_is_opened_anew(client, user):
    strict = Browser(enforce_csrf_checks=True)
    logged_out = strict.post("/clients/add/", TYPED, headers={"Referer": PAGE})
    strict.force_login(user)
    plain = strict.post("/clients/add/", TYPED, headers={"Referer": PAGE})
    htmx = strict.post("/clients/add/", TYPED, headers={"HX-Request": "true", "HX-Current-URL": PAGE})

    assert logged_out.url == "/login/?next=/clients/7/change/%3Ffrom%3Dlist"
    assert (plain.status_code, said(plain)) == (403, "not")
    assert 'href="/clients/7/change/?from=list"' in plain.content.decode()
    assert htmx.headers["HX-Redirect"] == "/clients/7/change/?from=list"
    assert not Client.objects.exists()
