"""A finding at the horse's side without signal: its form warns, and it reaches the book with its photo."""

from datetime import timedelta

import pytest
from django.urls import reverse

from practice.models import Finding, Photo
from tests.conftest import PHONE
from tests.factories.practice import (
    DAY,
    FindingFactory,
    HorseFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
)
from tests.pictures import photo
from tests.project.phone.test_kept_in_browser import keeping, without_signal
from tests.project.phone.test_queue import HERE, until_sent

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def horse(transactional_db, settings, tmp_path):
    settings.TODAY, settings.DATA_DIR = DAY, tmp_path
    ProfileFactory(vet_name="Dr. Quill", vet_phone="555-0142")
    return HorseFactory(name="Juniper")


@pytest.fixture
def visit(horse):
    return VisitFactory(place=horse.place, date=DAY)


@pytest.fixture
def phone(open_page, user, visit):
    """A phone that has kept all pages of its login."""
    return keeping(open_page(*PHONE, user=user, service_workers="allow"))


def choose(page, name: str, value: str) -> None:
    page.locator(f'.choice label:has([name="{name}"][value="{value}"])').click()


def test_a_finding_with_its_photo_is_recorded_from_the_kept_form_and_is_in_the_book_once(phone, visit, horse):
    tab = without_signal(phone)
    tab.goto(reverse("practice:finding-add", args=[visit.pk, horse.pk]))
    for name, value in (("foot", "RF"), ("zone", "sole"), ("kind", "something driven in")):
        choose(tab, name, value)
    warned = tab.get_by_text("Call the veterinarian.").is_visible()
    tab.get_by_label("Who was told").fill("Dr. Quill")
    tab.locator("[name=photos]").set_input_files(
        {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": photo((900, 600))}
    )
    tab.get_by_role("button", name="Save the finding").click()
    tab.get_by_text(HERE).wait_for()
    tab.wait_for_url(f"**{visit.horse_url(horse)}")

    recorded_only_here = Finding.objects.count() == 0
    tab.context.set_offline(False)
    until_sent(tab)

    assert (warned, recorded_only_here) == (True, True)
    [finding] = Finding.objects.all()
    assert (finding.words, finding.refer_to_vet, finding.told_who) == (
        "Something driven in: right fore, sole.",
        True,
        "Dr. Quill",
    )
    assert finding.told_at is not None
    assert Photo.objects.get().finding == finding


def test_who_was_told_of_an_earlier_finding_is_kept_without_signal(open_page, user, visit, horse):
    past = VisitFactory(place=horse.place, date=DAY - timedelta(weeks=6), status="done")
    WorkFactory(visit=past, horse=horse)
    finding = FindingFactory(visit=past, horse=horse, kind="heat", refer_to_vet=True)
    tab = without_signal(keeping(open_page(*PHONE, user=user, service_workers="allow")))

    tab.goto(visit.get_absolute_url())
    tab.get_by_role("link", name="Who was told?").click()
    tab.get_by_label("Who was told").fill("Dr. Quill")
    tab.get_by_role("button", name="Save").click()
    tab.get_by_text(HERE).wait_for()
    tab.context.set_offline(False)
    until_sent(tab)

    finding.refresh_from_db()
    assert (finding.told_who, finding.told_at is not None) == ("Dr. Quill", True)
