"""What is prescribed for a foot: shown, followed by *As last time* and the usual shoe, ended, in the book."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from practice.actions.last_time import as_last_time
from practice.actions.shoeing import prescribe, save_feet
from practice.lib.presses import new_press
from practice.lib.profile import Profile
from practice.models import Prescription
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from practice.reports.history import last_shoeing, last_time
from practice.reports.prescribed import other_prescriptions, prescribed_lines, prescribed_on
from practice.reports.shoeing import feet_of, shoeing_at
from practice.reports.usual import UsualForHorse
from tests.factories.practice import (
    DAY,
    HorseFactory,
    MaterialUseFactory,
    PrescriptionFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory

D = Decimal
WHAT = "Say what is prescribed: a shoe, clips, a pad, packing, an angle, or a note."
BEFORE = DAY - timedelta(weeks=6)


@pytest.fixture
def horse(db, settings):
    settings.TODAY = DAY
    ProfileFactory()
    return HorseFactory(name="Juniper", ref="juniper")


@pytest.fixture
def plain(horse):
    return ItemFactory(name="Plain 2", kind="shoe", fits="front")


@pytest.fixture
def bar(horse):
    return ItemFactory(name="Egg bar 2", kind="shoe", fits="front")


@pytest.fixture
def before(horse, plain):
    """The last shoeing: a pair of plain shoes in front, priced by hand."""
    service = ServiceFactory(new_shoes=2, feet_nailed=2)
    work = WorkFactory(horse=horse, service=service, visit=VisitFactory(date=BEFORE, status="done"))
    for foot in ("LF", "RF"):
        MaterialUseFactory(visit=work.visit, horse=horse, item=plain, foot=foot, price=D(20))
    return work.visit


def worn_at(visit) -> dict[str, str]:
    return {use.foot: str(use.item) for use in visit.materials.select_related("item")}


def test_as_last_time_puts_on_the_prescribed_shoe_where_a_foot_gets_a_new_one(horse, before, bar):
    prescribe(horse, ["LF", "LH"], item=bar, valid_from=DAY, by="Dr. Quill")
    visit = VisitFactory(date=DAY)

    as_last_time(visit, [horse])

    assert worn_at(visit) == {"LF": "Egg bar 2", "RF": "Plain 2"}
    assert [use.price for use in visit.materials.all()] == [None, None]


def test_saved_again_as_prescribed_there_is_nothing_left_to_save(horse, before, bar):
    prescribe(horse, ["LF"], item=bar, valid_from=DAY)
    visit = VisitFactory(date=DAY)

    assert [as_last_time(visit, [horse]), as_last_time(visit, [horse])] == [[horse], []]


def test_the_usual_shoe_of_a_foot_is_the_prescribed_one(horse, before, plain, bar):
    prescribe(horse, ["LF"], item=bar, valid_from=DAY)
    usual = UsualForHorse(horse, VisitFactory(date=DAY))

    assert (usual.shoe("LF"), usual.shoe("RF")) == (bar, plain)
    assert usual.last.state.shoes == {"LF": bar.pk, "RF": plain.pk}


def test_what_is_not_yet_or_no_longer_in_force_is_not_followed(horse, before, plain, bar):
    PrescriptionFactory(horse=horse, item=bar, valid_from=DAY + timedelta(1))
    PrescriptionFactory(horse=horse, item=bar, valid_from=BEFORE, valid_to=DAY - timedelta(1))

    assert {str(use.item) for use in last_time(horse, VisitFactory(date=DAY)).materials} == {"Plain 2"}
    assert prescribed_on(horse, DAY) == {}


def test_of_two_for_a_foot_the_one_that_began_last_is_followed(horse):
    later = PrescriptionFactory(horse=horse, shoe="bar shoe", valid_from=DAY)
    PrescriptionFactory(horse=horse, shoe="plain", valid_from=BEFORE)

    assert prescribed_on(horse, DAY) == {"LF": later}


def test_the_past_stays_as_it_was(horse, before, bar):
    prescribe(horse, ["LF"], item=bar, valid_from=DAY)

    visit = VisitFactory(date=DAY)
    assert {str(use.item) for use in last_shoeing(horse, visit).materials} == {"Plain 2"}
    as_last_time(visit, [horse])
    [left] = [foot for foot in shoeing_at(visit, horse, Profile.current()).feet if foot.foot == "LF"]
    assert [line.change for line in left.lines if line.is_changed] == ["Changed, was Plain 2"]


def test_the_record_that_is_proposed_says_what_is_prescribed_and_never_the_angle_aimed_at(horse, before, bar):
    save_feet(before, horse, {"LF": {"shoe": "old bar", "pad": "leather", "nails_outside": 3}})
    prescribe(horse, ["LF"], item=bar, pad="plastic", clips="side", angle=D(53), valid_from=DAY)
    visit = VisitFactory(date=DAY)

    as_last_time(visit, [horse])

    record = visit.feet.get()
    assert (record.shoe, record.pad, record.clips, record.nails_outside) == ("", "plastic", "side", 3)
    assert record.angle is None


def test_prescriptions_alike_are_one_line_with_who_and_when(horse, bar):
    said = {"item": bar, "clips": "side", "pad": "leather", "packing": "pine tar", "angle": D("53.5")}
    prescribe(horse, ["LF", "RF"], **said, note="Wide heels.", by="Dr. Quill", valid_from=date(2026, 10, 3))
    prescribe(horse, ["LH"], shoe="trailer shoe", valid_from=DAY)

    assert [line.words for line in prescribed_lines(horse, DAY, Profile.current())] == [
        "From Dr. Quill, Oct 3, 2026: Egg bar 2, side clips, pad: leather, packing: pine tar,"
        " 53.5° target angle, Wide heels, each fore foot.",
        "Your own, Oct 14, 2026: trailer shoe, left hind.",
    ]
    assert other_prescriptions(horse, DAY, Profile.current()) == []
    assert len(other_prescriptions(horse, BEFORE, Profile.current())) == 2


# --- pages


def test_a_prescription_is_added_once_for_each_foot_that_was_chosen(browser, horse, bar):
    sent = {"uuid": new_press(), "feet": ["LF", "RF"], "item": bar.pk, "by": "Dr. Quill", "valid_from": DAY}

    answers = [browser.post(f"/horses/{horse.pk}/prescriptions/add/", sent) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert list(Prescription.objects.values_list("foot", "item", "by")) == [
        ("LF", bar.pk, "Dr. Quill"),
        ("RF", bar.pk, "Dr. Quill"),
    ]


@pytest.mark.parametrize(
    ("typed", "errors"),
    [
        ({"shoe": "bar"}, {"feet": ["Choose one foot or more."]}),
        (
            {"feet": ["LF"]},
            {"item": [WHAT]},
        ),
        (
            {"feet": ["LF"], "item": "own", "shoe": "bar"},
            {"shoe": ["Choose one of your items, or type another shoe, not both."]},
        ),
    ],
)
def test_a_prescription_that_says_nothing_or_too_much_is_refused(browser, horse, bar, typed, errors):
    sent = {"valid_from": DAY} | typed
    sent |= {"item": bar.pk} if "item" in typed else {}

    answer = browser.post(f"/horses/{horse.pk}/prescriptions/add/", sent)

    assert (answer.context["form"].errors, Prescription.objects.count()) == (errors, 0)


def test_a_prescription_is_ended_and_stays_on_record(browser, horse):
    row = PrescriptionFactory(horse=horse, shoe="bar shoe", valid_from=BEFORE)

    page = browser.get(row.get_absolute_url()).content.decode()
    sent = {"shoe": "bar shoe", "valid_from": BEFORE, "valid_to": DAY - timedelta(1)}
    browser.post(row.get_absolute_url(), sent)

    assert "What a veterinarian prescribed stands until they change it." in page
    feet = feet_of(horse, DAY, Profile.current())
    assert feet.prescribed == []
    assert [(line.name, line.fact) for line in feet.earlier] == [
        ("Bar shoe, left fore", "until Oct 13, 2026")
    ]


def test_a_prescription_cannot_end_before_it_begins(browser, horse):
    row = PrescriptionFactory(horse=horse, shoe="bar shoe")

    sent = {"shoe": "bar shoe", "valid_from": DAY, "valid_to": BEFORE}
    answer = browser.post(row.get_absolute_url(), sent)

    assert answer.context["form"].non_field_errors() == ["The end is before the first day."]


def test_the_form_of_a_horse_and_its_page_say_what_is_prescribed(browser, horse, before, bar):
    prescribe(horse, ["LF"], item=bar, by="Dr. Quill", valid_from=DAY)
    visit = VisitFactory(date=DAY)

    form = browser.get(visit.horse_url(horse)).content.decode()
    page = browser.get(f"/horses/{horse.pk}/").content.decode()

    assert "<li>From Dr. Quill, Oct 14, 2026: Egg bar 2, left fore.</li>" in form
    assert "Egg bar 2, left fore" in page and "What each foot wears" in page


# --- the book


@pytest.mark.slow
def test_prescriptions_come_back_from_the_book(horse, bar, tmp_path, check_it_comes_back):
    prescribe(horse, ["LF", "RF"], item=bar, angle=D("53.5"), by="Dr. Quill", valid_from=BEFORE)
    PrescriptionFactory(horse=horse, shoe="bar shoe", valid_to=DAY, ref="own")
    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        (
            "p,juniper,LF,,bar,2026-10-03,2026-10-02",
            "to: 2026-10-02 is before 2026-10-03",
        ),
        ("p,juniper,LF,egg,bar,2026-10-03,", "shoe: must be blank if item is given"),
    ],
)
def test_a_prescription_that_cannot_be_is_named(horse, bar, tmp_path, row, problem):
    bar.ref = "egg"
    bar.save()
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "prescriptions.csv").write_text(f"ref,horse,foot,item,shoe,from,to\n{row}\n")

    problems = [str(each) for each in import_book(tmp_path / "in").problems]
    assert problems == [f"prescriptions.csv:2: {problem}"]


def test_an_import_ends_a_prescription_that_the_book_has(horse, tmp_path):
    PrescriptionFactory(horse=horse, shoe="bar shoe", ref="p")
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "prescriptions.csv").write_text(
        "ref,horse,foot,from,to\np,juniper,LF,2026-10-14,2026-11-30\n"
    )

    assert import_book(tmp_path / "in").problems == []
    row = Prescription.objects.get()
    assert (row.shoe, row.valid_to) == ("bar shoe", date(2026, 11, 30))
