"""The pages on which a phone is paired, listed and ended, as a browser gets them."""

import re
from datetime import datetime, timedelta

import pytest
from cryptography import x509
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from practice.models import PairingCode
from practice.project import logins
from practice.project.log import without_secrets
from practice.project.logins import USED_EVERY
from practice.project.phone.pairing import GOOD_FOR, MOST_WRONG
from practice.project.serving.addresses import note_served
from practice.project.serving.authority import practice_authority
from tests.factories.practice import ProfileFactory
from tests.lib.test_qr import read
from tests.project.test_logins import LAPTOP, PASSWORD, device, is_in, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("served")]
ANDROID = "Mozilla/5.0 (Linux; Android 10; K) Chrome/156.0.0.0 Mobile Safari/537.36"
NAME = "Wren's phone"
REFUSED = "This code does not work."
OVER_HTTPS = "__Host-roundbook_session"  # what browsers take over https alone


@pytest.fixture
def desk(user):
    ProfileFactory()
    return device(LAPTOP)


@pytest.fixture
def phone():
    return Client(headers={"user-agent": ANDROID, "host": "roundbook.local:8443"})


def code_for(desk: Client) -> str:
    """Press *Pair a phone* and return the code that the page shows."""
    return desk.post("/phones/", follow=True).context["code"].text


def pair(phone: Client, code: str, name: str = NAME):
    return phone.post("/phone/pair/", {"pairing_code": code, "name": name}, secure=True)


def knows(phone: Client) -> bool:
    """Whether a phone is let in."""
    return phone.get("/settings/", secure=True).status_code == 200


def listed(desk: Client) -> list[str]:
    return [f"{login.title}: {said}" for login, said in desk.get("/phones/").context["phones"]]


def name_of(desk: Client) -> str:
    """Return the name that ends the one paired phone, as its button carries it."""
    [(login, _)] = desk.get("/phones/").context["phones"]
    return login.name


def session_of(device: Client) -> Session:
    cookie = device.cookies.get(OVER_HTTPS) or device.cookies["roundbook_session"]
    return Session.objects.get(session_key=cookie.value)


def at(monkeypatch, moment: datetime) -> None:
    monkeypatch.setattr("django.utils.timezone.now", lambda: moment)


def test_what_the_computer_shows_lets_a_phone_in_under_its_name(desk, phone):
    answer = pair(phone, code_for(desk))

    today = logins.formats.medium_date(timezone.localdate())
    assert (answer.status_code, answer.url, knows(phone)) == (302, "/", True)
    [line] = listed(desk)
    assert re.fullmatch(
        rf"{NAME}: Last used {today}, [\d:]+\s[AP]M\. Chrome on an Android phone, paired on {today}\.", line
    )


def test_both_drawings_lead_where_the_page_says(desk):
    page = desk.post("/phones/", follow=True)

    code = PairingCode.objects.get().code
    assert read(page.context["trust_qr"]) == "https://roundbook.local:8443/phone/trust/"
    assert read(page.context["code"].qr) == f"https://roundbook.local:8443/phone/pair/?pairing_code={code}"
    assert f"{code[:4]}-{code[4:]}" in words(page)


def test_the_address_of_the_drawing_fills_in_the_form_and_a_name_is_proposed(desk, phone):
    page = desk.post("/phones/", follow=True)
    code = PairingCode.objects.get().code

    form = phone.get(page.context["place"].pair_with(code), secure=True).context["form"]

    assert (form["pairing_code"].value(), form["name"].value()) == (code, "Android phone")


def test_behind_a_server_with_a_certificate_pairing_is_all_there_is(desk, phone, settings):
    note_served(None)
    settings.PUBLIC_ADDRESS = "https://book.example"

    page = desk.post("/phones/", follow=True)

    code = PairingCode.objects.get().code
    assert read(page.context["code"].qr) == f"https://book.example/phone/pair/?pairing_code={code}"
    assert "fingerprint" not in page.text
    for path in ("/phone/trust/", "/phone/trust/certificate/"):
        assert phone.get(path, secure=True).url == "/phone/pair/"


def test_where_no_phone_reaches_the_book_no_code_is_made(desk):
    note_served(None)

    page = desk.post("/phones/", follow=True)

    assert "python3 manage.py start --phones" in words(page)
    assert PairingCode.objects.count() == 0


@pytest.mark.parametrize("by", ["?by=address", ""])
def test_a_phone_that_finds_no_name_is_given_an_address(desk, by, monkeypatch):
    monkeypatch.setattr("practice.project.serving.addresses.own_addresses", lambda: ["192.168.7.20"])

    page = desk.get(f"/phones/{by}")

    host = "192.168.7.20" if by else "roundbook.local"
    assert read(page.context["trust_qr"]) == f"https://{host}:8443/phone/trust/"


def test_a_code_is_shown_until_it_is_used_and_the_page_notices(desk, phone):
    code = code_for(desk)

    waiting = desk.get("/phones/", headers={"hx-request": "true"}).status_code
    pair(phone, code)
    then = desk.get("/phones/", headers={"hx-request": "true"})

    assert (waiting, then.status_code, then.context["code"]) == (204, 200, None)
    assert NAME in words(then)


@pytest.mark.parametrize("typed", ["2222-2222", "ü", "٣"])
def test_a_wrong_code_is_refused_and_lets_nobody_in(desk, phone, typed):
    code_for(desk)

    answer = pair(phone, typed)

    assert REFUSED in words(answer)
    assert (knows(phone), listed(desk)) == (False, [])


def test_a_used_code_is_refused(desk, phone):
    code = code_for(desk)
    pair(Client(), code)

    assert REFUSED in words(pair(phone, code))
    assert not knows(phone)


def test_an_old_code_is_refused(desk, phone, monkeypatch):
    code = code_for(desk)
    at(monkeypatch, timezone.now() + GOOD_FOR)

    assert REFUSED in words(pair(phone, code))
    assert not knows(phone)


def test_after_ten_wrong_codes_the_right_one_is_refused_too(desk, phone):
    code = code_for(desk)
    for _ in range(MOST_WRONG):
        pair(phone, "2222-2222")

    assert REFUSED in words(pair(phone, code))
    assert (knows(phone), desk.get("/phones/").context["code"]) == (False, None)


def test_a_phone_without_a_name_uses_up_no_code(desk, phone):
    code = code_for(desk)

    refused = pair(phone, code, name=" ")

    assert "This cannot be blank." in words(refused)
    assert pair(phone, code).status_code == 302


def test_a_form_that_is_sent_again_pairs_nothing_more(desk, phone):
    sent = {"pairing_code": code_for(desk), "name": NAME, "uuid": "a" * 32}

    for _ in range(2):
        phone.post("/phone/pair/", sent, secure=True)

    assert (len(listed(desk)), knows(phone)) == (1, True)


def test_a_phone_that_was_logged_in_by_password_becomes_a_paired_one(desk, phone):
    phone.post("/login/", {"username": "farrier", "password": PASSWORD}, secure=True)
    before = phone.cookies[OVER_HTTPS].value

    pair(phone, code_for(desk))

    assert (len(listed(desk)), phone.cookies[OVER_HTTPS].value == before) == (1, False)
    assert Session.objects.count() == 2


def test_a_phone_that_was_ended_gets_the_login_and_nothing_more(desk, phone):
    pair(phone, code_for(desk))

    answer = desk.post("/phones/", {"end": name_of(desk)}, follow=True)

    assert f"Logged out there: {NAME}." in words(answer)
    assert (listed(desk), is_in(desk)) == ([], True)
    assert phone.get("/round/", secure=True).url == "/login/?next=/round/"
    fetched = phone.get("/round/", secure=True, headers={"sec-fetch-mode": "cors"})
    opened = phone.get(
        "/round/", secure=True, headers={"sec-fetch-mode": "navigate", "sec-fetch-dest": "empty"}
    )
    assert (fetched.status_code, fetched.content, opened.status_code) == (401, b"", 302)


def test_a_phone_is_listed_and_ended_where_all_devices_are(desk, phone):
    pair(phone, code_for(desk))

    said = words(desk.get("/logins/"))
    desk.post("/logins/", {"end": name_of(desk)})

    assert re.search(rf"{NAME} Last used .* Chrome on an Android phone, paired on ", said)
    assert not knows(phone)


def test_logging_out_on_the_phone_ends_it(desk, phone):
    pair(phone, code_for(desk))

    phone.post("/logout/", secure=True)

    assert (listed(desk), knows(phone)) == ([], False)


def test_a_new_password_ends_every_phone(desk, phone):
    pair(phone, code_for(desk))
    new = "four feet and a hammer"

    desk.post("/password/", {"current": PASSWORD, "new": new, "again": new})

    assert (listed(desk), knows(phone)) == ([], False)


def test_being_used_puts_off_the_end_of_a_phone_alone(desk, phone, settings, monkeypatch):
    pair(phone, code_for(desk))
    late = timezone.now() + 2 * USED_EVERY
    at(monkeypatch, late)
    ends = [session_of(each).expire_date for each in (phone, desk)]

    answers = [phone.get("/settings/", secure=True), desk.get("/settings/")]

    cookie = answers[0].cookies[OVER_HTTPS]
    assert session_of(phone).expire_date == late + timedelta(seconds=settings.SESSION_COOKIE_AGE)
    assert session_of(desk).expire_date == ends[1] < ends[0] < session_of(phone).expire_date
    assert (cookie.value, cookie["max-age"], cookie["httponly"], answers[1].cookies) == (
        session_of(phone).session_key,
        settings.SESSION_COOKIE_AGE,
        True,
        {},
    )


def test_a_phone_that_is_not_used_for_60_days_has_to_be_paired_again(desk, phone, monkeypatch):
    pair(phone, code_for(desk))
    days = [timezone.now() + timedelta(number) for number in (59, 118, 179)]

    known = []
    for day in days:
        at(monkeypatch, day)
        known.append(knows(phone))

    assert known == [True, True, False]


def test_using_a_phone_brings_back_nothing_that_was_ended(desk, phone, monkeypatch):
    """A page was being answered while the phone was ended."""
    pair(phone, code_for(desk))
    at(monkeypatch, timezone.now() + 2 * USED_EVERY)
    key, due = session_of(phone).session_key, logins.is_due

    def ended_meanwhile(session, now):
        Session.objects.filter(session_key=key).delete()
        return due(session, now)

    monkeypatch.setattr(logins, "is_due", ended_meanwhile)
    answer = phone.get("/settings/", secure=True)

    assert (OVER_HTTPS in answer.cookies, Session.objects.filter(session_key=key).exists()) == (
        False,
        False,
    )


def test_nobody_sees_or_ends_the_phones_of_another_login(desk, phone, django_user_model):
    pair(phone, code_for(desk))
    helper = Client()
    helper.force_login(django_user_model.objects.create_user("helper", password=PASSWORD))

    helper.post("/phones/", {"end": name_of(desk)})

    assert (listed(helper), knows(phone)) == ([], True)


def test_trusting_needs_https_and_no_login_and_shows_nothing_of_the_book(desk, phone):
    page = phone.get("/phone/trust/", secure=True)

    assert practice_authority(timezone.now()).fingerprint() in words(page)
    assert "Garrow" not in page.text
    assert phone.get("/phone/trust/").url == phone.get("/phone/trust/certificate/").url == "/phone/pair/"


def test_the_certificate_comes_as_phones_take_it_and_without_its_key(phone):
    answer = phone.get("/phone/trust/certificate/", secure=True)

    certificate = x509.load_der_x509_certificate(answer.content)
    assert answer.headers["Content-Type"] == "application/x-x509-ca-cert"
    assert certificate == practice_authority(timezone.now()).certificate


def test_the_computer_shows_the_fingerprint_to_compare(desk):
    assert practice_authority(timezone.now()).fingerprint() in words(desk.get("/phones/"))


def test_no_code_reaches_the_log():
    traces = ["GET /phone/pair/?pairing_code=K7M29QXD HTTP/1.1", "{'pairing_code': 'K7M29QXD', 'name': 'x'}"]

    assert [text for trace in traces if "K7M2" in (text := without_secrets(trace, []))] == []


def test_a_code_that_was_typed_is_hidden_in_the_log_wherever_it_stands(rf):
    from practice.project.log import known_secrets

    request = rf.post("/phone/pair/", {"pairing_code": "k7m2 9qxd"})
    assert request.POST["pairing_code"]
    record = type("Record", (), {"request": request})

    assert "k7m2 9qxd" in list(known_secrets(record))


def test_a_login_page_offers_pairing_only_over_https(phone):
    link = f'href="{reverse("phone-pair")}"'

    assert (link in phone.get("/login/", secure=True).text, link in phone.get("/login/").text) == (
        True,
        False,
    )


def test_the_settings_lead_to_the_page(desk):
    assert 'href="/phones/"' in desk.get("/settings/").text


def test_no_page_carries_a_key_that_opens_a_session(desk, phone):
    pair(phone, code_for(desk))
    keys = Session.objects.values_list("session_key", flat=True)

    assert [key for key in keys if key in desk.get("/phones/").text] == []
