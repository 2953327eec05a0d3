"""What the form of a horse shows: what is usual, what each foot wears, cautions, findings, prices."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest

from billing.models import Price
from practice.lib.profile import Profile
from practice.models import Finding
from practice.reports.horse_at_visit import HorseAtVisit
from practice.reports.usual import UsualForHorse
from tests.factories.practice import (
    DAY,
    FindingFactory,
    MaterialUseFactory,
    VisitFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory
from tests.practice.test_horse_form import SIX_WEEKS_AGO, Stop

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def stop(browser):
    return Stop(browser)


def test_usual_is_what_the_foot_had_last_then_its_like_then_what_the_practice_uses_most(stop):
    hind = ItemFactory(name="Plain hind, No 1", fits="hind")
    usual = UsualForHorse(stop.horse, stop.visit)
    assert (usual.shoe("LF"), usual.shoe("LH"), usual.nail) == (stop.shoe, hind, stop.nail)

    stop.last_time()
    later = VisitFactory(date=DAY - timedelta(9))
    MaterialUseFactory(visit=later, horse=stop.horse, item=stop.shoe, foot="LF")
    cancelled = VisitFactory(date=DAY - timedelta(1), status="cancelled")
    MaterialUseFactory(visit=cancelled, horse=stop.horse, item=hind, foot="RF")

    usual = UsualForHorse(stop.horse, stop.visit)
    assert [usual.shoe(foot) for foot in ("LF", "RF", "LH")] == [stop.shoe, stop.wide, hind]


def test_a_horse_wears_what_its_last_work_left_on_each_foot(stop):
    stop.last_time()
    reset = VisitFactory(status="done", date=DAY - timedelta(7))
    WorkFactory(visit=reset, horse=stop.horse)
    for foot in ("LF", "RF", "LH"):
        MaterialUseFactory(visit=reset, horse=stop.horse, item=stop.nail, foot=foot, quantity=D(6))

    worn = UsualForHorse(stop.horse, stop.visit).worn

    assert worn == {"LF": stop.wide, "RF": stop.wide, "LH": None}


def test_the_pads_a_horse_had_stand_first(stop):
    used = ItemFactory(name="Leather pad", kind="pad")
    MaterialUseFactory(visit=VisitFactory(status="done"), horse=stop.horse, item=used)

    assert HorseAtVisit(stop.visit, stop.horse, Profile()).counted == [used, stop.pad]


def test_a_foot_says_what_it_wears_what_goes_on_or_that_it_is_trimmed(stop):
    stop.last_time()

    new, trimmed = stop.browser.get(stop.url), stop.post(pick=stop.trim.pk)
    shod = stop.post(pick=stop.fronts.pk)

    said = [[foot.words for foot in answer.context["sheet"].feet] for answer in (new, trimmed)]
    assert said == [["wears No 3 plain"] * 2 + ["bare"] * 2, ["wears No 3 plain"] * 2 + ["trim"] * 2]
    assert [foot.words for foot in shod.context["sheet"].feet[:2]] == ["No 3 plain"] * 2


def test_a_shoe_put_on_between_two_shoeings_is_worn_too(stop):
    stop.last_time()
    lost = VisitFactory(status="done", date=DAY - timedelta(9))
    MaterialUseFactory(visit=lost, horse=stop.horse, item=stop.shoe, foot="RF")

    assert UsualForHorse(stop.horse, stop.visit).worn == {"LF": stop.wide, "RF": stop.shoe}


def cautions(answer) -> list[str]:
    """What the cautions of a page say."""
    page = re.sub(r'<div data-when="[a-z ]+" hidden>.*?</div>', "", answer.content.decode(), flags=re.DOTALL)
    parts = re.findall(r'class="[a-z ]*caution"[^>]*>(.*?)</span>', page, re.DOTALL)
    return [" ".join(re.sub(r"<svg.*?</svg>|<[^>]*>", " ", part, flags=re.DOTALL).split()) for part in parts]


HOT = "Hot fitting. Doors open, horse held, gloves and water at hand."
NAILS = "Nails. Stay outside the white line; wring off points at once."
TRIM = "Knife, nippers. Chaps on, cut away from yourself, protect your eyes."
CHEMICAL = "Sealant, adhesive. Read the safety data sheet. Gloves on, eyes protected."
FUEL = "Forge gas. Doors open, check for leaks, shut the tank after."


def test_the_form_cautions_about_what_was_chosen(stop):
    sealant = ItemFactory(name="Sealant", kind="sealant", unit="ml")
    fuel = ItemFactory(name="Forge gas", kind="fuel", unit="kg")
    hot = stop.post(pick=stop.fronts.pk)
    trimmed = stop.post(pick=stop.trim.pk)
    sealed = stop.post({f"item_{sealant.pk}": "20", f"item_{fuel.pk}": "1"}, answer=trimmed, changed="1")

    assert cautions(stop.browser.get(stop.url)) == []
    assert cautions(hot) == [HOT, NAILS]
    assert cautions(trimmed) == [TRIM]
    assert cautions(sealed) == [TRIM, CHEMICAL, FUEL]
    assert all(len(words.split()) < 12 for words in (HOT, NAILS, TRIM, CHEMICAL, FUEL))


def test_the_form_shows_what_is_noted_of_the_horse_and_of_the_place(stop):
    stop.horse.notes, stop.visit.place.notes = "Stands best beside Bramble.", "Gate code 4411."
    stop.horse.save()
    stop.visit.place.save()

    page = " ".join(stop.browser.get(stop.url).content.decode().split())

    assert f"<b>{stop.visit.place}.</b> Gate code 4411.</p>" in page
    assert ">Stands best beside Bramble.</p>" in page


def ticked(answer) -> list[bool]:
    """The boxes of what was seen before, as a page shows them."""
    boxes = re.findall(r'name="seen"\s+value="\d+"\s+(checked)?', answer.content.decode())
    return [box == "checked" for box in boxes]


def test_what_is_ticked_as_seen_to_is_saved_with_the_work_and_can_be_taken_back(stop, settings):
    settings.TODAY = DAY + timedelta(3)
    past = VisitFactory(status="done", date=SIX_WEEKS_AGO)
    heat = FindingFactory(visit=past, horse=stop.horse, kind="heat", refer_to_vet=True)
    thin = FindingFactory(visit=past, horse=stop.horse, kind="thin sole")
    strange = FindingFactory(visit=past)

    tapped = stop.post({"seen": [heat.pk, strange.pk]}, pick=stop.trim.pk)
    before = Finding.objects.filter(resolved_on__isnull=False).count()
    stop.post(answer=tapped, save="1")
    marked = stop.browser.get(stop.url)

    heat_again = "Heat: left fore, sole. Seen September 2. For the veterinarian. Who was told?"
    assert cautions(tapped) == [heat_again, TRIM]
    assert (ticked(tapped), before) == ([True, False], 0)
    assert list(Finding.objects.order_by("pk").values_list("resolved_on", flat=True)) == [DAY, None, None]
    assert cautions(marked) == [TRIM]

    Finding.objects.filter(pk=thin.pk).update(resolved_on=DAY)  # on another phone, after this page was opened
    stop.post({"seen": []}, answer=marked, save="1")
    assert list(Finding.objects.order_by("pk").values_list("resolved_on", flat=True)) == [None, DAY, None]


def test_what_is_ticked_as_seen_to_is_saved_without_work_too_and_with_the_last_time(stop):
    heat = FindingFactory(visit=VisitFactory(date=SIX_WEEKS_AGO), horse=stop.horse, kind="heat")

    alone = stop.post({"seen": [heat.pk]}, save="1")
    heat.refresh_from_db()
    seen_to = heat.resolved_on
    stop.last_time()
    stop.post({"seen": []}, again="1")
    heat.refresh_from_db()

    assert (alone.headers["Location"], seen_to) == (stop.visit.get_absolute_url(), DAY)
    assert (stop.work, heat.resolved_on) == ([("Fronts", None, "")], None)


def test_the_form_shows_what_the_horse_costs_with_its_special_price(stop):
    Price.objects.create(service=stop.fronts, valid_from=DAY, price=160, horse=stop.horse)
    Price.objects.create(service=stop.trim, valid_from=DAY, price=50, place=stop.visit.place)
    Price.objects.create(service=stop.lost, valid_from=DAY, price=40, client=stop.horse.owners.get().client)

    sheet = stop.browser.get(stop.url).context["sheet"]

    assert [price for _, price, _ in sheet.services] == [160, 50, 40]
