"""What a phone recorded reaches the book once, whatever is sent again; what cannot be saved is kept."""

from datetime import timedelta
from decimal import Decimal
from uuid import UUID

import pytest
from django.test import Client as Browser
from django.utils import timezone

from billing.actions.invoicing import close_days
from billing.models import Payment
from practice.models import Client, Finding, Horse, PhoneEntry, Press
from practice.project.phone.taking import KEPT_FOR, forget_old_entries
from practice.views import people
from tests.factories.practice import DAY, ClientFactory, HorseFactory, ProfileFactory, VisitFactory, trim
from tests.project.phone.phones import answers_to, recorded, send

pytestmark = pytest.mark.django_db
SAVED, DAYS = ("saved", ""), timedelta(days=1)


@pytest.fixture(autouse=True)
def today(settings):
    settings.TODAY = DAY
    ProfileFactory()


def new_client(name="Petra Quill", **more) -> dict:
    return recorded("/clients/add/", f"New client {name}", name=name, billing="per_day", **more)


def names() -> list[str]:
    return list(Client.objects.order_by("pk").values_list("name", flat=True))


def test_the_server_says_who_is_logged_in_and_how_to_send(browser, client):
    known = browser.get("/phone/state/").json()
    nobody = Browser().get("/phone/state/").json()

    assert (known["login"], known["to_settle"], nobody["login"]) == ("farrier", 0, "")
    assert known["csrf"] and known["now"] <= timezone.now().timestamp() * 1000


def test_an_entry_is_saved_once_however_often_it_is_sent(browser):
    first, second = new_client(), new_client("Ann Thorpe")

    answers = [
        send(browser, *sent).json()["entries"] for sent in ((first,), (first, second), (second, first))
    ]

    assert names() == ["Petra Quill", "Ann Thorpe"]
    petra, ann = Client.objects.order_by("pk")
    assert petra.uuid == UUID(first["uuid"])
    assert [[(each["state"], each["then"]) for each in sent] for sent in answers] == [
        [("saved", petra.get_absolute_url())],
        [("saved", petra.get_absolute_url()), ("saved", ann.get_absolute_url())],
        [("saved", ann.get_absolute_url()), ("saved", petra.get_absolute_url())],
    ]


def test_a_form_that_was_sent_plainly_before_is_not_saved_again(browser):
    entry = new_client()
    typed = dict(entry["fields"]) | {"uuid": entry["uuid"]}
    plain = browser.post("/clients/add/", typed)

    [answer] = send(browser, entry).json()["entries"]

    assert names() == ["Petra Quill"]
    assert (answer["state"], answer["then"]) == ("saved", plain.url)


def test_a_form_that_was_taken_from_a_phone_is_not_saved_again_when_it_is_sent_plainly(browser):
    entry = new_client()
    send(browser, entry)

    browser.post("/clients/add/", dict(entry["fields"]) | {"uuid": entry["uuid"]})

    assert names() == ["Petra Quill"]


def test_what_cannot_be_saved_is_kept_with_its_code_and_its_words(browser):
    visit = trim(on=DAY).visit
    close_days(DAY, DAY, DAY)
    locked = recorded(f"/visits/{visit.pk}/as-last-time/", "As last time", horse=visit.work.get().horse_id)
    no_name, gone = new_client(name=""), recorded("/visits/999/complete/", "Leave")
    closed_page = recorded("/settings/", "Settings", name="Mine")

    sent = send(browser, no_name, gone, locked, closed_page).json()

    assert sent["to_settle"] == 4
    assert [(each["state"], each["code"]) for each in sent["entries"]] == [
        ("to settle", "form_errors"),
        ("to settle", "not_found"),
        ("to settle", "visit_locked"),
        ("to settle", "not_recordable"),
    ]
    assert [each["message"].split(":")[0] for each in sent["entries"][:2]] == [
        "Name",
        "What it belongs to is no longer in the book.",
    ]
    kept = PhoneEntry.objects.get(uuid=no_name["uuid"])
    assert kept.fields == no_name["fields"]
    assert not Press.objects.exists()
    assert "4 entries to settle." in browser.get("/phone/settle/").content.decode()


def test_a_time_at_which_nobody_was_told_waits_for_a_name_with_all_that_was_typed(browser):
    visit, horse = VisitFactory(date=DAY), HorseFactory()
    path = f"/visits/{visit.pk}/horses/{horse.pk}/finding/"
    seen = {"foot": "LF", "zone": "sole", "kind": "heat", "told_at": f"{DAY}T00:10"}

    [answer] = send(browser, recorded(path, "Finding", **seen, note="Warm all over.")).json()["entries"]

    assert (answer["state"], answer["code"]) == ("to settle", "form_errors")
    assert answer["message"] == "Who was told: Type who was told, or clear the time."
    form = browser.get(f"/phone/settle/{PhoneEntry.objects.get().pk}/form/").text
    assert all(typed in form for typed in ("Warm all over.", f'value="{DAY}T00:10"'))


def test_what_is_odd_waits_for_somebody_who_says_that_it_is_right(browser):
    ClientFactory(name="Petra Quill")

    [answer] = send(browser, new_client()).json()["entries"]

    assert (answer["state"], answer["code"]) == ("to settle", "asks")
    assert answer["message"] == "Another client is named Petra Quill too. Is this a second one?"


def test_what_somebody_looks_at_is_told_there_and_not_kept(browser):
    entry = new_client(name="")

    [refused] = send(browser, entry, live=entry["uuid"]).json()["entries"]
    saved = send(browser, new_client(uuid=entry["uuid"]), live=entry["uuid"])

    assert (refused["state"], saved.json()["entries"][0]["state"]) == ("refused", "saved")
    assert not PhoneEntry.objects.to_settle().exists()
    assert saved.cookies[f"form_{entry['uuid']}"].value == "saved"
    assert "Saved." in browser.get("/clients/").content.decode()


def test_rows_made_on_the_phone_are_named_by_their_press_until_they_have_a_key(browser):
    owner = ClientFactory()
    horse = recorded("/horses/add/", "New horse Bramble", name="Bramble", cycle_weeks="6", status="active")
    visit = VisitFactory(date=DAY)
    finding = recorded(
        f"/visits/{visit.pk}/horses/~{horse['uuid']}/finding/",
        "Finding",
        foot="LF",
        zone="sole",
        kind="red sole",
        note=f"of ~{horse['uuid']}",
    )

    assert answers_to(browser, horse, finding) == [SAVED, SAVED]

    bramble = Horse.objects.get(name="Bramble")
    assert Finding.objects.get().horse == bramble
    assert Finding.objects.get().note == f"of {bramble.pk}"
    assert owner


def test_what_waits_for_a_row_that_is_to_settle_says_so(browser):
    horse = recorded("/horses/add/", "New horse Bramble", name="", status="active")
    visit = VisitFactory(date=DAY)
    path = f"/visits/{visit.pk}/horses/~{horse['uuid']}/finding/"

    sent = send(browser, horse, recorded(path, "Finding", foot="LF", zone="sole", kind="red sole")).json()

    assert [each["code"] for each in sent["entries"]] == ["form_errors", "waits_for"]
    assert sent["entries"][1]["message"] == "It waits for this to be settled first: New horse Bramble."


def test_an_entry_counts_when_it_was_recorded_though_the_clock_of_the_phone_is_wrong(browser, settings):
    settings.TODAY = None
    visit = VisitFactory(date=timezone.localdate() - DAYS)
    wrong = timezone.now() + 40 * DAYS  # what the phone takes for now
    entry = recorded(f"/visits/{visit.pk}/complete/", "Leave", at=wrong - DAYS)

    assert answers_to(browser, entry, now=wrong) == [SAVED]

    visit.refresh_from_db()
    kept = PhoneEntry.objects.get()
    assert abs(kept.at - (timezone.now() - DAYS)) < timedelta(minutes=1)
    assert visit.leave.hour == timezone.localtime(kept.at).hour


def test_entries_of_another_login_stay_on_the_phone(browser):
    theirs = new_client() | {"login": "helper"}

    assert answers_to(browser, theirs, new_client("Ann Thorpe")) == [("other login", "other_login"), SAVED]
    assert names() == ["Ann Thorpe"]
    assert PhoneEntry.objects.count() == 1


def test_nobody_sends_without_a_login(client):
    answer = send(client, new_client())

    assert (answer.status_code, names()) == (302, [])


def test_what_fails_is_kept_with_the_number_in_the_log_and_not_tried_again(browser, monkeypatch):
    def fails(*args, **kwargs):
        raise ValueError("no such shoe")

    monkeypatch.setattr(people, "form_page", fails)
    entry = new_client()

    codes = [answers_to(browser, entry) for _ in range(2)]

    assert codes == [[("to settle", "failed")]] * 2
    assert "(error " in PhoneEntry.objects.get().message


@pytest.mark.parametrize(
    "broken",
    [
        {"path": "//elsewhere.example/"},
        {"path": "https://elsewhere.example/"},
        {"uuid": "six nails"},
        {"fields": [["name"]]},
        {"fields": None},
        {"at": "noon"},
        {"at": 1e300},
    ],
)
def test_what_no_phone_sends_is_refused(browser, broken):
    answer = send(browser, new_client() | broken)

    assert (answer.status_code, answer.json()) == (400, {"code": "not_entries"})
    assert names() == []


def test_what_a_text_cannot_hold_is_left_out(browser):
    assert answers_to(browser, new_client("Petra\0 \ud800Quill")) == [SAVED]
    assert names() == ["Petra Quill"]


def test_a_payment_taken_at_a_stop_is_received_once(browser):
    payer = ClientFactory()
    path = f"/clients/{payer.pk}/payments/add/"
    entry = recorded(path, "Payment", date=DAY, amount="50", method="cash")

    assert answers_to(browser, entry, entry) == [SAVED, SAVED]
    assert [payment.amount for payment in Payment.objects.all()] == [Decimal(50)]


def test_answers_are_forgotten_after_a_while_and_what_is_to_settle_is_not(browser):
    send(browser, new_client(), new_client(name=""))
    PhoneEntry.objects.update(received_at=timezone.now() - KEPT_FOR - DAYS)

    forget_old_entries(timezone.now())

    assert [entry.state for entry in PhoneEntry.objects.all()] == ["to settle"]
