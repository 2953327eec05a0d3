"""The shoeing record: what is said of each foot, what the next time takes over, and what changed."""

from datetime import timedelta
from decimal import Decimal

import pytest

from billing.actions.merging import merge
from practice.actions.last_time import as_last_time
from practice.actions.shoeing import save_feet
from practice.actions.work import take_horse_off
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import FootRecord
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from practice.project.phone.recordable import RECORDABLE
from practice.reports.shoeing import shoeing_at
from practice.rules.shoeing import BARE, FootLine, compared, lines_of, nails_in_words
from tests.factories.mail import NOON
from tests.factories.practice import (
    DAY,
    FootRecordFactory,
    HorseFactory,
    MaterialUseFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory
from tests.project.phone.phones import recorded, send

D = Decimal
BEFORE = DAY - timedelta(weeks=6)
SAID = {"nails_outside": 3, "nails_inside": 2, "clips": "side", "fitted": "hot", "pad": "leather"}


@pytest.fixture
def horse(db, settings):
    settings.TODAY = DAY
    ProfileFactory()
    return HorseFactory(name="Juniper", ref="juniper")


@pytest.fixture
def items(horse):
    return {
        "shoe": ItemFactory(name="Plain 2", kind="shoe", clips="toe clip"),
        "bar": ItemFactory(name="Egg bar 2", kind="shoe"),
        "nail": ItemFactory(name="Slim No 4", kind="nail"),
    }


def shod(horse, on, nail, shoe=None, feet=("LF", "RF")):
    """A done shoeing of a horse: nails on these feet, and a new shoe where one is named."""
    service = ServiceFactory(resets_cycle=True)
    work = WorkFactory(horse=horse, service=service, visit=VisitFactory(date=on, status="done"))
    for foot in feet:
        for item, quantity in ((shoe, D(1)), (nail, D(6))):
            if item:
                MaterialUseFactory(visit=work.visit, horse=horse, item=item, quantity=quantity, foot=foot)
    return work.visit


def said(shoeing, foot="LF") -> dict[str, tuple[str, str | None]]:
    [lines] = [each.lines for each in shoeing.feet if each.foot == foot] or [[]]
    return {line.name: (line.value, line.before) for line in lines}


# --- rules


def test_what_is_not_as_before_is_marked_and_what_was_not_measured_again_is_not():
    before = {"Shoe": "Plain 2", "Pad": "leather", "Angle": "52°", "Note": "old", "Fit": "full"}
    now = {"Shoe": "Egg bar 2", "Toe length": "3.25 in", "Note": "new", "Fit": "full"}

    assert lines_of(now, before, compared(True, True)) == [
        FootLine("Shoe", "Egg bar 2", "Plain 2"),
        FootLine("Fit", "full"),
        FootLine("Pad", "none", "leather"),
        FootLine("Toe length", "3.25 in"),
        FootLine("Note", "new"),
    ]


@pytest.mark.parametrize(
    ("known", "names"),
    [((False, False), {"Shoe", "Nails"}), ((True, False), {"Shoe"}), ((False, True), {"Shoe"})],
)
def test_only_what_both_times_say_is_compared(known, names):
    assert set(compared(*known)) == names


@pytest.mark.parametrize(
    ("nails", "words"),
    [
        (("Slim No 4", 6, 3, 3), "6 × Slim No 4 (3 outside, 3 inside)"),
        (("Slim No 4", 6, None, None), "6 × Slim No 4"),
        (("", 0, 4, 0), "4 outside, 0 inside"),
        (("", 0, None, None), ""),
    ],
)
def test_nails_in_words(nails, words):
    assert nails_in_words(*nails) == words


def test_what_is_new_is_told_from_what_is_another():
    assert FootLine("Pad", "leather", "none").change == "New, none before"
    assert FootLine("Angle", "53°", "52°").change == "Changed, was 52°"


# --- records


def test_the_record_and_the_materials_together_say_what_a_foot_wears(horse, items):
    visit = shod(horse, DAY, items["nail"], items["shoe"])
    save_feet(visit, horse, {"LF": {**SAID, "angle": D("52.5"), "toe_length": D("3.25"), "toe_unit": "in"}})

    shoeing = shoeing_at(visit, horse, Profile.current())

    assert said(shoeing) == {
        "Shoe": ("Plain 2", None),
        "Fitted": ("hot", None),
        "Nails": ("6 × Slim No 4 (3 outside, 2 inside)", None),
        "Clips": ("side clips", None),
        "Pad": ("leather", None),
        "Angle": ("52.5°", None),
        "Toe length": ("3.25 in", None),
    }
    assert said(shoeing, "RF")["Clips"] == ("toe clip", None)
    assert said(shoeing, "LH") == {"Shoe": (BARE, None)}


def test_a_shoe_that_went_back_on_is_no_change_and_another_one_is(horse, items):
    shod(horse, BEFORE - timedelta(weeks=6), items["nail"], items["shoe"])
    shod(horse, BEFORE, items["nail"])
    visit = shod(horse, DAY, items["nail"], items["bar"], feet=["LF"])

    shoeing = shoeing_at(visit, horse, Profile.current())

    assert said(shoeing)["Shoe"] == ("Egg bar 2", "Plain 2")
    assert said(shoeing, "RF")["Shoe"] == (BARE, "Plain 2")
    assert [foot.foot for foot in shoeing.changed] == ["LF", "RF"]
    assert shoeing.since == "Compared with Sep 2, 2026."
    again = shoeing_at(shod(horse, BEFORE + timedelta(1), items["nail"]), horse, Profile.current())
    assert again.changed == []


def test_nothing_said_is_no_record(horse):
    visit = VisitFactory()
    blank = dict.fromkeys(SAID, "") | {"nails_outside": None, "nails_inside": None}

    save_feet(visit, horse, {"LF": SAID, "RF": blank})
    assert [row.foot for row in visit.feet.all()] == ["LF"]
    save_feet(visit, horse, {"LF": blank, "RF": blank})
    assert not visit.feet.exists()


def test_a_day_that_is_closed_for_good_keeps_its_record(horse):
    Profile.objects.update(closed_through=DAY)

    with pytest.raises(RuleBroken) as refused:
        save_feet(VisitFactory(date=DAY), horse, {"LF": SAID})
    assert refused.value.code == "day_closed"


def test_as_last_time_takes_the_record_over_and_never_a_measure(horse, items):
    before = shod(horse, BEFORE, items["nail"], items["shoe"])
    measured = {"angle": D(52), "toe_length": D("3.25"), "toe_unit": "in", "note": "once"}
    save_feet(before, horse, {"LF": SAID | measured})
    visit = VisitFactory(date=DAY)

    as_last_time(visit, [horse])

    [record] = visit.feet.all()
    assert (record.nails_outside, record.nails_inside, record.clips, record.pad) == (3, 2, "side", "leather")
    assert (record.angle, record.toe_length, record.toe_unit, record.note) == (None, None, "", "")


def test_as_last_time_leaves_what_is_recorded_already(horse, items):
    before = shod(horse, BEFORE, items["nail"], items["shoe"])
    save_feet(before, horse, {"LF": SAID})
    visit = VisitFactory(date=DAY)
    save_feet(visit, horse, {"RF": {"fit": "full at the heels"}})

    as_last_time(visit, [horse])

    assert [row.foot for row in visit.feet.all()] == ["RF"]


def test_a_horse_taken_off_a_visit_takes_its_record_with_it(horse):
    record = FootRecordFactory(horse=horse)

    take_horse_off(record.visit, horse)

    assert not FootRecord.objects.exists()


def test_two_entries_with_a_record_of_one_visit_stay_two(horse):
    record = FootRecordFactory(horse=horse)
    other = FootRecordFactory(visit=record.visit)

    with pytest.raises(RuleBroken) as refused:
        merge(horse, other.horse, by="farrier", at=NOON, today=DAY)
    assert refused.value.code == "both_at_a_stop"


# --- the page


def typed(page) -> dict:
    """What the form would send as it opened."""
    return {name: page.context["form"][name].value() or "" for name in page.context["form"].fields}


def test_the_page_proposes_the_time_before_and_shows_what_was_measured(browser, horse, items):
    before = shod(horse, BEFORE, items["nail"], items["shoe"])
    save_feet(before, horse, {"LF": SAID | {"angle": D("52.5")}, "LH": {"fit": "wide"}})
    visit = shod(horse, DAY, items["nail"])

    page = browser.get(f"/visits/{visit.pk}/horses/{horse.pk}/feet/")
    form = page.context["form"]

    assert [form[f"LF_{name}"].value() for name in ("nails_outside", "clips", "angle")] == [3, "side", None]
    assert form["LH_fit"].value() is None  # it is not shod this time
    text = page.content.decode()
    assert "Last measured: 52.5° on Sep 2, 2026." in text
    assert "Plain 2, 6 × Slim No 4" in text


def test_the_page_saves_the_record_and_shows_it(browser, horse, items):
    visit = shod(horse, DAY, items["nail"], items["shoe"])
    url = f"/visits/{visit.pk}/horses/{horse.pk}/feet/"
    sent = typed(browser.get(url)) | {
        "LF_nails_outside": "4",
        "LF_nails_inside": "2",
        "LF_angle": "53.5",
        "LF_toe_length": "3.125",
        "RF_shoe": "handmade bar shoe",
    }

    answer = browser.post(url, sent)

    assert answer.headers["Location"] == visit.horse_url(horse)
    left, right = visit.feet.order_by("foot")
    assert (left.nails_outside, left.angle, left.toe_length, left.toe_unit) == (
        4,
        D("53.5"),
        D("3.125"),
        "in",
    )
    assert (right.foot, right.shoe, right.toe_unit) == ("RF", "handmade bar shoe", "")
    assert "handmade bar shoe" in browser.get(url).content.decode()
    for page in (visit.horse_url(horse), visit.get_absolute_url()):
        assert f'href="{url}"' in browser.get(page).content.decode()


def test_a_phone_may_record_it_without_signal(browser, horse):
    visit = VisitFactory()

    page = browser.get(f"/visits/{visit.pk}/horses/{horse.pk}/feet/").content.decode()

    assert 'data-entry="Shoeing record of Juniper"' in page
    assert f'data-then="{visit.horse_url(horse)}"' in page
    assert "practice:visit-feet" in RECORDABLE


def test_what_a_phone_recorded_reaches_the_book_once(browser, horse):
    visit = VisitFactory(date=DAY)
    url = f"/visits/{visit.pk}/horses/{horse.pk}/feet/"
    entry = recorded(url, "Shoeing record of Juniper", **typed(browser.get(url)) | {"LF_nails_outside": "4"})

    answers = [send(browser, entry).json()["entries"][0] for _ in range(2)]

    assert [(each["state"], each["then"]) for each in answers] == [("saved", visit.horse_url(horse))] * 2
    assert visit.feet.get().nails_outside == 4


@pytest.mark.parametrize(
    ("field", "value", "error"),
    [
        ("LF_nails_outside", "12", "Type a whole number from 0 to 9."),
        ("LF_angle", "5", "Type a number of at least 20, such as 52."),
        ("RH_toe_length", "40", "Type a number up to 8, such as 3.25."),
    ],
)
def test_a_slip_of_the_finger_is_refused_beside_its_field(browser, horse, field, value, error):
    url = f"/visits/{VisitFactory().pk}/horses/{horse.pk}/feet/"

    form = browser.post(url, typed(browser.get(url)) | {field: value}).context["form"]

    assert form.errors == {field: [error]}
    assert [part.foot for part in form.parts if part.is_open] == sorted({"LF", field[:2]})


def test_what_somebody_else_recorded_meanwhile_is_not_saved_over(browser, horse):
    visit = VisitFactory()
    url = f"/visits/{visit.pk}/horses/{horse.pk}/feet/"
    opened = browser.get(url)
    sent = typed(opened) | {"opened": opened.context["form"].opened, "LF_pad": "plastic"}

    save_feet(visit, horse, {"LF": {"pad": "leather"}})
    answer = browser.post(url, sent)

    [clash] = answer.context["form"].clashes
    assert (clash.label, visit.feet.get().pad) == ("Left fore, pad", "leather")


def test_a_metric_practice_measures_in_millimeters(browser, horse):
    Profile.objects.update(distance_unit="km")
    visit = VisitFactory()
    url = f"/visits/{visit.pk}/horses/{horse.pk}/feet/"

    browser.post(url, typed(browser.get(url)) | {"LF_toe_length": "82"})

    assert (visit.feet.get().toe_length, visit.feet.get().toe_unit) == (D(82), "mm")


# --- the book


@pytest.mark.slow
def test_records_come_back_from_the_book(horse, tmp_path, check_it_comes_back):
    visit = VisitFactory()
    save_feet(visit, horse, {"LF": {**SAID, "angle": D("52.5"), "toe_length": D("3.25"), "toe_unit": "in"}})
    FootRecordFactory(visit=visit, horse=horse, foot="RF", note="Wears\nthe toe")
    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")


def test_a_toe_length_without_a_unit_is_named(horse, tmp_path):
    visit = VisitFactory(ref="v1")
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / "foot_records.csv").write_text("visit,horse,foot,toe_length\nv1,juniper,LF,3.25\n")

    problems = [str(problem) for problem in import_book(folder).problems]

    assert problems == ["foot_records.csv:2: toe_unit: is required if toe_length is given"]
    assert not visit.feet.exists()
