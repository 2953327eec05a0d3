"""The form of a horse never overwrites work saved since it was opened, and asks once about what is odd."""

from decimal import Decimal

import pytest

from billing.models import Price
from practice.models import MaterialUse, Work
from tests.factories.practice import HorseFactory, MaterialUseFactory, VisitFactory, WorkFactory
from tests.lib.test_asking import field_of
from tests.practice.test_horse_form import SIX_WEEKS_AGO, Stop

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def stop(browser):
    return Stop(browser)


def clashes(answer) -> list[tuple[str, str, str]]:
    return [(row.label, row.saved, row.typed) for row in answer.context["form"].clashes]


def questions(answer) -> list[str]:
    return [question for question, _ in answer.context["form"].questions]


def two_windows(stop):
    """Save fronts in one window; return what another one answers, opened before, that saves a trim."""
    here = stop.post(pick=stop.trim.pk)
    stop.post(answer=stop.post(pick=stop.fronts.pk), save="1")
    return stop.post(answer=here, save="1")


def test_work_saved_in_another_window_is_shown_and_not_overwritten(stop):
    answer = two_windows(stop)

    assert clashes(answer) == [
        ("Work", "Fronts", "Trim"),
        ("Feet", "LF: Plain front, No 2\nRF: Plain front, No 2", "Nothing"),
        ("Nails and materials", "Nails, slim No 5: 12", "Nothing"),
    ]
    assert "Someone changed this while you had it open." in answer.content.decode()
    assert stop.work == [("Fronts", None, "")]


def test_save_mine_saves_mine_and_every_other_button_asks_again(stop):
    asked = two_windows(stop)

    again = stop.post(answer=asked, save="1")
    stepped = stop.post(answer=stop.post(answer=asked, step=f"item_{stop.pad.pk}:1"), save="1")
    kept = stop.work
    saved = stop.post(answer=stepped, mine=field_of(stepped, "mine"))

    assert clashes(again) == clashes(asked)
    assert clashes(stepped)[-1] == ("Nails and materials", "Nails, slim No 5: 12", "Pad: 1")
    assert kept == [("Fronts", None, "")]
    assert (saved.status_code, stop.work, stop.uses) == (302, [("Trim", None, "")], [("Pad", "", 1)])


def test_what_changes_while_it_is_asked_is_asked_about_as_well(stop):
    asked = two_windows(stop)
    Work.objects.update(note="left fore split", price=D("150"))

    answer = stop.post(answer=asked, mine=field_of(asked, "mine"))

    assert clashes(answer)[0] == ("Work", "Fronts, at $150.00 (left fore split)", "Trim")
    assert stop.work == [("Fronts", D("150"), "left fore split")]


def test_the_form_carries_what_it_was_opened_on_through_every_tap(stop):
    stop.post(answer=stop.post(pick=stop.trim.pk), save="1")
    here = stop.post(pick=stop.fronts.pk)
    Work.objects.update(note="thin soles")
    for tap in ({"step": "nails:1"}, {"open": "RF"}, {"changed": "1"}, {"clear": "1"}):
        here = stop.post(answer=here, **tap)

    answer = stop.post(answer=stop.post(answer=here, pick=stop.lost.pk), save="1")

    assert clashes(answer)[0] == ("Work", "Trim (thin soles)", "Lost shoe")
    assert stop.work == [("Trim", None, "thin soles")]


def test_the_same_work_saved_in_two_windows_is_not_asked_about(stop):
    here = stop.post(pick=stop.fronts.pk)
    stop.post(answer=stop.post(pick=stop.fronts.pk), save="1")

    answer = stop.post(answer=here, save="1")

    assert (answer.status_code, stop.work) == (302, [("Fronts", None, "")])


def test_what_was_saved_is_not_taken_off_by_a_window_where_nothing_was_chosen(stop):
    here = stop.browser.get(stop.url)
    stop.post(answer=stop.post(pick=stop.trim.pk), save="1")

    answer = stop.post(answer=here, save="1")

    assert clashes(answer) == [("Work", "Trim", "Nothing")]
    assert stop.work == [("Trim", None, "")]


def test_as_last_time_asks_too_where_something_was_saved_meanwhile(stop):
    stop.last_time()
    here = stop.post(last="1")
    stop.post(answer=stop.post(pick=stop.trim.pk), save="1")

    answer = stop.post(answer=here, save="1")

    assert clashes(answer)[0] == ("Work", "Trim", "Fronts")
    assert stop.work == [("Trim", None, "")]


@pytest.mark.parametrize("token", ["", "not one of ours"])
def test_without_a_token_of_ours_saved_work_is_never_overwritten(stop, token):
    here = stop.post(pick=stop.trim.pk)
    stop.post(answer=stop.post(pick=stop.fronts.pk), save="1")

    answer = stop.post({"opened": token}, answer=here, save="1")

    assert clashes(answer)[0] == ("Work", "Fronts", "Trim")


def test_a_price_far_above_the_list_is_asked_about_once(stop):
    tapped, price = stop.post(pick=stop.fronts.pk), f"price_{stop.fronts.pk}"

    asked = stop.post({price: "1925"}, answer=tapped, save="1")
    before = stop.work
    stop.post({"right": field_of(asked, "right")}, answer=asked, save="1")
    again = stop.post(save="1")

    assert questions(asked) == ["Fronts: that is 11 times the usual price. Is it right?"]
    assert (before, stop.work) == ([], [("Fronts", 1925, "")])
    assert again.status_code == 302


def test_without_a_list_price_it_is_compared_with_what_was_typed_before(stop):
    Price.objects.all().delete()
    past = VisitFactory(status="done", date=SIX_WEEKS_AGO)
    for price in (40, 50, 60):
        WorkFactory(visit=past, horse=HorseFactory(), service=stop.trim, price=D(price))
    tapped = stop.post(pick=stop.trim.pk)

    fine = stop.post({f"price_{stop.trim.pk}": "500"}, answer=tapped, save="1")
    Work.objects.filter(visit=stop.visit).delete()
    asked = stop.post({f"price_{stop.trim.pk}": "600"}, answer=tapped, save="1")

    assert fine.status_code == 302
    assert questions(asked) == ["Trim: that is 12 times the usual price. Is it right?"]


def test_quantities_far_above_what_a_horse_usually_takes_are_asked_about(stop):
    stop.last_time()
    past = VisitFactory(status="done", date=SIX_WEEKS_AGO)
    MaterialUseFactory(visit=past, horse=stop.horse, item=stop.pad, quantity=D(2))
    tapped = stop.post(pick=stop.fronts.pk)

    asked = stop.post({"nails": "144", f"item_{stop.pad.pk}": "22"}, answer=tapped, save="1")
    fine = stop.post({"nails": "120", f"item_{stop.pad.pk}": "20"}, answer=tapped, save="1")

    assert sorted(questions(asked)) == [
        "Nails, slim No 5: that is 12 times the usual quantity. Is it right?",
        "Pad: that is 11 times the usual quantity. Is it right?",
    ]
    assert fine.status_code == 302
    assert MaterialUse.objects.filter(visit=stop.visit, item=stop.pad).get().quantity == 20


def test_where_nothing_is_usual_yet_nothing_is_asked(stop):
    tapped = stop.post(pick=stop.fronts.pk)

    assert stop.post({f"item_{stop.pad.pk}": "400"}, answer=tapped, save="1").status_code == 302
