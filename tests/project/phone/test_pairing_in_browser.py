"""Pairing as it looks and is tapped: on the computer, and on the phone over https."""

import pytest
from django.utils import timezone

from practice.project.phone.pairing import make_code
from tests.conftest import DESK, PHONE
from tests.factories.practice import ProfileFactory
from tests.test_accessibility import Findings, look_at, visit

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def over_https(settings):
    """Headers by which a page is asked for as over https."""
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    return {"extra_http_headers": {"X-Forwarded-Proto": "https"}}


def test_the_page_says_how_to_serve_phones_where_they_are_not(open_page, user):
    ProfileFactory()
    page = open_page(*PHONE, user=user)
    findings = Findings()

    visit(page, "/phones/")
    look_at(page, findings, "/phones/")

    assert (findings.lines(), page.problems) == ([], [])
    assert page.get_by_text("python3 manage.py start --phones").is_visible()
    assert page.get_by_role("button", name="Pair a phone").count() == 0


def test_a_phone_is_paired_named_and_ended(open_page, user, served):
    ProfileFactory()
    desk, phone, findings = open_page(*DESK, user=user), open_page(*PHONE), Findings()
    visit(desk, "/phones/")
    look_at(desk, findings, "/phones/")
    resize_to_desk(desk)
    desk.get_by_role("button", name="Pair a phone").click()
    code = desk.locator(".pairing-code").inner_text()
    look_at(desk, findings, "/phones/ with a code")
    resize_to_desk(desk)

    visit(phone, "/phone/pair/?pairing_code=" + code)
    look_at(phone, findings, "/phone/pair/")
    phone.get_by_label("Name of this phone").fill("Wren's phone")
    phone.get_by_role("button", name="Pair").click()
    phone.wait_for_url("**/")

    desk.get_by_role("heading", name="Scan this with the phone").wait_for(state="detached")
    look_at(desk, findings, "/phones/ with a phone")
    desk.get_by_role("button", name="End Wren's phone").click()
    desk.get_by_text("Logged out there: Wren's phone.").wait_for()
    phone.goto("/round/")
    assert phone.url.endswith("/login/?next=/round/")
    assert (findings.lines(), desk.problems, phone.problems) == ([], [], [])


def resize_to_desk(page) -> None:
    page.set_viewport_size({"width": DESK[0], "height": DESK[1]})


def test_a_wrong_code_is_said_at_its_field_and_what_was_typed_stays(open_page, user, served):
    make_code(user, timezone.now())
    page, findings = open_page(*PHONE), Findings()
    visit(page, "/phone/pair/")

    page.get_by_label("Code").fill("2222-2222")
    page.get_by_role("button", name="Pair").click()
    page.get_by_text("This code does not work.").wait_for()
    look_at(page, findings, "a wrong code")

    assert page.get_by_label("Code").input_value() == "2222-2222"
    assert (findings.lines(), page.problems) == ([], [])


def test_the_page_of_trust_is_sound_and_gives_the_certificate(open_page, db, served, over_https):
    page, findings = open_page(*PHONE, **over_https), Findings()

    visit(page, "/phone/trust/")
    look_at(page, findings, "/phone/trust/")
    with page.expect_download() as download:
        page.get_by_role("link", name="Download").click()

    assert download.value.suggested_filename == "roundbook.crt"
    assert findings.lines() == []
