"""What was seen on a horse's feet over time, foot by foot."""

from datetime import timedelta

import pytest

from practice.actions.findings import resolve_finding
from practice.lib.profile import Profile
from practice.models import Zone
from practice.reports.foot_history import VISITS_SHOWN, feet_history
from practice.reports.hoof import PIECES, FootDrawing, drawn
from tests.factories.practice import DAY, FindingFactory, HorseFactory, ProfileFactory, VisitFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def horse():
    ProfileFactory()
    return HorseFactory(name="Juniper")


def weeks_ago(weeks: int):
    return VisitFactory(date=DAY - timedelta(weeks=weeks), status="done")


def test_a_foot_is_drawn_once_a_visit_the_latest_first_with_what_became_of_it(horse):
    early, late = weeks_ago(12), weeks_ago(6)
    crack = FindingFactory(visit=early, horse=horse, foot="RF", zone="toe", kind="crack", marked="slight")
    FindingFactory(visit=late, horse=horse, foot="RF", zone="sole")
    FindingFactory(
        visit=late, horse=horse, foot="RF", zone="sole", kind="heat", refer_to_vet=True, note="Warm"
    )
    FindingFactory(visit=late, horse=horse, foot="all", zone="wall", kind="flare", told_who="Ann")
    FindingFactory(visit=late)
    resolve_finding(crack, DAY)

    history = feet_history(horse, Profile.current())

    right, every = history.feet
    assert [(foot.name, len(foot.visits)) for foot in history.feet] == [("Right fore", 2), ("All feet", 1)]
    assert [(seen.day, seen.words, seen.drawing.zones) for seen in right.visits] == [
        ("Sep 2, 2026", "Red sole, heat", ("sole",)),
        ("Jul 22, 2026", "Crack", ("toe",)),
    ]
    assert [(row.zone, row.seen, row.more) for row in right.rows + every.rows] == [
        ("sole", "Red sole", ""),
        ("sole", "Heat", "Warm. For the veterinarian."),
        ("toe", "Crack, slight", "Seen to Oct 14, 2026."),
        ("wall", "Flare", "Told Ann."),
    ]
    assert not history.has_more


def test_a_horses_page_draws_the_last_dozen_visits_and_a_page_of_its_own_all(horse, browser):
    for weeks in range(VISITS_SHOWN + 2):
        FindingFactory(visit=weeks_ago(weeks), horse=horse)

    page, everything = (browser.get(f"{horse.get_absolute_url()}{more}").text for more in ("", "findings/"))

    assert (page.count('class="hoof"'), everything.count('class="hoof"')) == (VISITS_SHOWN, VISITS_SHOWN + 2)
    assert f'href="{horse.get_absolute_url()}findings/"' in page


def test_it_takes_one_query_however_much_was_seen(horse, django_assert_num_queries):
    for weeks in range(9):
        visit = weeks_ago(weeks)
        for foot in ("LF", "RH"):
            FindingFactory(visit=visit, horse=horse, foot=foot)

    with django_assert_num_queries(1):
        history = feet_history(horse, Profile(locale="en-US"))
        assert [(seen.url, seen.rows) for foot in history.feet for seen in foot.visits]

    assert [len(foot.visits) for foot in history.feet] == [9, 9]


def test_the_inside_is_on_the_left_of_a_left_foot_and_mirrored_on_a_right_one():
    drawings = [FootDrawing(foot) for foot in ("LF", "RF", "LH", "RH", "all")]

    assert [(each.shape, each.is_right, each.sides[0]) for each in drawings] == [
        ("fore", False, "inside"),
        ("fore", True, "outside"),
        ("hind", False, "inside"),
        ("hind", True, "outside"),
        ("fore", False, "inside"),
    ]


def test_each_zone_is_drawn_and_all_but_the_whole_foot_have_a_piece_to_tap():
    assert {piece.zone for piece in PIECES} == set(Zone.values) - {Zone.WHOLE_FOOT}
    assert drawn("LF", ["sole", "white line", "sole"]).marks == ["sole", "white-line"]
    assert drawn("LF", ["sole", "white line"]).title == "Left fore: sole, white line"


def test_every_mark_has_its_shape_in_the_drawing(browser, horse):
    FindingFactory(visit=weeks_ago(1), horse=horse)

    page = browser.get(horse.get_absolute_url()).text

    shapes = [f'id="{foot}-{mark}"' for foot in ("fore", "hind") for mark in drawn("LF", Zone.values).marks]
    assert [shape for shape in shapes if page.count(shape) != 1] == []
