"""The pages of a finding: recorded, corrected, deleted, told of; and the page of the signs."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from practice.lib.profile import Profile
from practice.models import Finding, Photo, Sign
from practice.reports.signs import first_signs
from practice.rules.signs import FIRST_SIGNS
from tests.factories.practice import (
    DAY,
    FindingFactory,
    HorseFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
)
from tests.pictures import photo

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 10, 14, 12, 0, tzinfo=UTC)
SEEN = {"foot": "RH", "zone": "white line", "kind": "separation", "marked": "moderate", "note": "Dug out."}


@pytest.fixture(autouse=True)
def practice(settings, monkeypatch):
    settings.TODAY = DAY
    monkeypatch.setattr("practice.views.findings.now", lambda: NOON)
    return ProfileFactory(vet_name="Dr. Quill", vet_phone="555-0142")


@pytest.fixture
def horse():
    return HorseFactory(name="Juniper")


@pytest.fixture
def visit(horse):
    return VisitFactory(place=horse.place)


def add(browser, visit, horse, **more):
    return browser.post(reverse("practice:finding-add", args=[visit.pk, horse.pk]), SEEN | more)


def at(name: str, finding: Finding) -> str:
    return reverse(f"practice:finding-{name}", args=[finding.pk])


def test_what_is_seen_is_kept_by_foot_zone_sign_and_how_marked(browser, visit, horse):
    answer = add(browser, visit, horse)

    assert answer.headers["Location"] == visit.horse_url(horse)
    [row] = Finding.objects.values("foot", "zone", "kind", "marked", "note", "refer_to_vet", "told_at")
    assert row == SEEN | {"refer_to_vet": False, "told_at": None}


def test_own_words_come_before_what_was_chosen_from_the_lists(browser, visit, horse):
    add(browser, visit, horse, other_kind="growth ring", other_marked="all around")

    assert Finding.objects.values_list("kind", "marked").get() == ("growth ring", "all around")


@pytest.mark.parametrize("kind", ["pus draining", "something driven in", "broken hip"])
def test_a_sign_for_the_veterinarian_needs_no_tick(browser, visit, horse, kind):
    Sign.objects.create(name="broken hip", for_vet=True, archived=True)

    add(browser, visit, horse, kind=kind)
    add(browser, visit, horse)

    assert list(Finding.objects.order_by("pk").values_list("refer_to_vet", flat=True)) == [True, False]


def test_the_farrier_may_call_the_veterinarian_about_any_sign(browser, visit, horse):
    add(browser, visit, horse, refer_to_vet="on")

    assert Finding.objects.get().refer_to_vet


def test_somebody_is_told_when_the_form_is_sent_unless_it_says_when(browser, visit, horse):
    add(browser, visit, horse, told_who="Dr. Quill")
    add(browser, visit, horse, told_who="Dr. Quill", told_at="2026-10-14T10:50")
    add(browser, visit, horse)

    told = Finding.objects.order_by("pk").values_list("told_who", "told_at")
    assert list(told) == [("Dr. Quill", NOON), ("Dr. Quill", NOON.replace(hour=10, minute=50)), ("", None)]


def test_a_time_without_who_was_told_is_asked_about_and_all_that_was_typed_stays(browser, visit, horse):
    answer = add(browser, visit, horse, told_at="2026-10-14T10:50", other_marked="in two places")

    form = answer.context["form"]
    assert form.errors == {"told_who": ["Type who was told, or clear the time."]}
    assert not Finding.objects.exists()
    assert "Dug out." in answer.text
    shown = [form[name].value() for name in ("told_at", "other_marked", "zone")]
    assert shown == ["2026-10-14T10:50", "in two places", "white line"]


@pytest.mark.parametrize(
    ("typed", "error"),
    [
        ("2026-10-16T08:00", "This time is still ahead. Type when you told them."),
        ("2026-10-13T08:00", "This was seen on 2026-10-14. Type when you told them of it."),
        ("0200-10-13T08:00", "This day is too long ago. Type 1990-01-01 or later."),
        ("soon", "Type a day and a time, such as 2026-10-14 10:50."),
    ],
)
def test_nobody_is_told_before_it_was_seen_or_later_than_tomorrow(browser, visit, horse, typed, error):
    answer = add(browser, visit, horse, told_who="Dr. Quill", told_at=typed)

    assert error in [message for errors in answer.context["form"].errors.values() for message in errors]
    assert not Finding.objects.exists()


def test_the_number_to_call_is_the_horses_own_veterinarians_else_the_practices(browser, visit, horse):
    other = HorseFactory(vet_name="Dr. Orr", vet_phone="+1 555 0143")

    pages = [
        browser.get(reverse("practice:finding-add", args=[visit.pk, each.pk])).text for each in (horse, other)
    ]

    assert 'href="tel:5550142">Call Dr. Quill, 555-0142</a>' in pages[0]
    assert 'href="tel:+15550143">Call Dr. Orr, +1 555 0143</a>' in pages[1]


def test_a_finding_is_corrected_and_its_own_words_stay_where_they_are(browser, horse, visit):
    finding = FindingFactory(visit=visit, horse=horse, kind="growth ring", marked="severe")
    page = browser.get(at("change", finding))
    shown = {name: page.context["form"][name].value() for name in ("kind", "other_kind", "marked", "zone")}

    browser.post(at("change", finding), SEEN | {"other_kind": "growth ring", "other_marked": "two of them"})

    assert shown == {"kind": "", "other_kind": "growth ring", "marked": "severe", "zone": "sole"}
    finding.refresh_from_db()
    assert finding.words == "Growth ring, two of them: right hind, white line."


def test_a_finding_is_deleted_once_that_was_asked(browser, horse, visit):
    finding = FindingFactory(visit=visit, horse=horse)
    asked = browser.get(at("delete", finding)).text

    answer = browser.post(at("delete", finding))

    assert "Red sole: left fore, sole." in asked
    assert answer.headers["Location"] == visit.horse_url(horse)
    assert not Finding.objects.exists()


@pytest.mark.parametrize("name", ["change", "delete"])
def test_what_was_seen_on_a_closed_day_stays_as_it_is(browser, horse, visit, name):
    finding = FindingFactory(visit=visit, horse=horse)
    Profile.objects.update(closed_through=DAY)

    answer = browser.post(at(name, finding), SEEN)

    assert "is closed for good" in answer.text
    assert Finding.objects.values_list("kind", "foot").get() == ("red sole", "LF")


def test_who_was_told_can_be_kept_later_from_the_horses_form_and_from_the_stop(browser, horse, visit):
    past = VisitFactory(date=DAY - timedelta(weeks=6), place=horse.place, status="done")
    WorkFactory(visit=past, horse=horse)
    finding = FindingFactory(visit=past, horse=horse, kind="heat", refer_to_vet=True)
    Profile.objects.update(closed_through=past.date)
    pages = [browser.get(url).text for url in (visit.horse_url(horse), visit.get_absolute_url())]

    browser.post(at("told", finding), {"told_who": "Dr. Quill", "told_at": "2026-10-13T18:05"})

    for page in pages:
        assert f'href="{at("told", finding)}">Who was told?</a>' in page
        assert 'href="tel:5550142"' in page
    again = browser.get(visit.horse_url(horse)).context["form"].at.earlier_findings[0]
    assert (
        again.when.replace("\u202f", " ")
        == "Seen September 2. For the veterinarian. Told Dr. Quill, October 13, 6:05 PM."
    )


def test_photos_come_with_the_finding_and_go_with_it(browser, visit, horse, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    add(browser, visit, horse, photos=[SimpleUploadedFile("IMG_1.jpg", photo())])
    finding = Finding.objects.get()
    more = SEEN | {"photos": [SimpleUploadedFile("IMG_2.jpg", photo(colour="red"))]}
    browser.post(at("change", finding), more)

    kept = list(Photo.objects.values_list("finding", "horse", "visit", "taken_on"))
    assert kept == [(finding.pk, horse.pk, visit.pk, DAY)] * 2
    assert browser.get(at("change", finding)).text.count("<img") == 2

    browser.post(at("delete", finding))
    assert (Photo.objects.count(), Finding.objects.count()) == (0, 0)


def test_what_is_no_photo_is_refused_beside_its_field(browser, visit, horse):
    answer = add(browser, visit, horse, photos=[SimpleUploadedFile("IMG_1.jpg", b"no picture")])

    assert list(answer.context["form"].errors) == ["photos"]
    assert not Finding.objects.exists()


def test_the_form_can_be_recorded_without_signal(browser, visit, horse):
    page = browser.get(reverse("practice:finding-add", args=[visit.pk, horse.pk])).text

    assert 'data-entry="A finding on Juniper"' in page
    assert f'data-then="{visit.horse_url(horse)}"' in page


def test_a_sign_is_added_renamed_and_no_longer_offered(browser):
    heat = next(sign for sign in first_signs() if sign.name == "heat")
    change = reverse("practice:sign-change", args=[heat.uuid])

    browser.post(reverse("practice:sign-add"), {"name": "growth ring", "for_vet": "on", "position": ""})
    browser.post(change, {"name": "hot foot", "for_vet": "on", "position": heat.position})
    flare = Sign.objects.get(name="flare")
    browser.post(
        reverse("practice:sign-change", args=[flare.uuid]),
        {"name": "flare", "position": flare.position, "archived": "on"},
    )

    listed = [
        (row.name.lower(), row.more, row.note)
        for row in browser.get(reverse("practice:sign-list")).context["rows"]
    ]
    call = "Call the veterinarian."
    assert ("growth ring", call, "") == listed[-1]
    assert ("hot foot", call, "") in listed
    assert ("flare", "", "no longer offered") in listed
    assert len(listed) == len(FIRST_SIGNS) + 1


def test_a_sign_that_is_not_there_has_no_page(browser):
    address = reverse("practice:sign-change", args=["5b0c1f0a-3a7e-4b43-9d0e-6f3f2a1c7e55"])

    assert browser.get(address).status_code == 404


def test_two_signs_of_one_name_are_refused_beside_what_was_typed(browser):
    answer = browser.post(reverse("practice:sign-add"), {"name": "Heat"})

    assert answer.context["form"].non_field_errors() == [
        "There is a sign named Heat already. Change that one instead."
    ]


def test_a_finding_without_its_sign_is_asked_for_it(browser, visit, horse):
    answer = browser.post(reverse("practice:finding-add", args=[visit.pk, horse.pk]), {"foot": "LF"})

    errors = answer.context["form"].errors["kind"]
    assert (errors, Finding.objects.count()) == (["Choose what you saw, or write it below the list."], 0)
