"""A horse's history: by visit and foot, what it usually takes, its owners, and long ones."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from practice.lib.profile import Profile
from practice.models import Horse
from practice.reports.history import past_visits
from practice.reports.horse_history import history_of
from practice.reports.records import horse_record
from practice.rules.by_foot import got_by_foot, told_by_foot, usual_by_foot
from tests.factories.practice import (
    DAY,
    ClientFactory,
    FindingFactory,
    HorseFactory,
    MaterialUseFactory,
    OwnerFactory,
    PlaceFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory

WEEK = timedelta(weeks=1)
FEET = ("LF", "RF", "LH", "RH")


def got(**feet: str) -> dict[str, tuple[str, ...]]:
    return {foot: tuple(things.split("+")) for foot, things in feet.items()}


@pytest.mark.parametrize(
    ("feet", "told"),
    [
        (got(LF="shoe", RF="shoe", LH="shoe", RH="shoe"), ["Each foot: shoe."]),
        (
            got(LF="front+nails", RF="front+nails", LH="hind", RH="hind"),
            ["Each fore foot: front; nails.", "Each hind foot: hind."],
        ),
        (got(LF="pad", RF="shoe"), ["Left fore: pad.", "Right fore: shoe."]),
        (got(LF="shoe", LH="shoe"), ["Left fore and left hind: shoe."]),
        (got(LF="shoe", LH="shoe", RH="shoe"), ["Left fore, left hind, and right hind: shoe."]),
        ({"LF": ("shoe",), "": ("40 ml × Glue",)}, ["Left fore: shoe.", "40 ml × Glue."]),
        ({}, []),
    ],
)
def test_feet_that_got_the_same_are_told_together(feet, told):
    assert told_by_foot(feet) == told


def test_what_a_foot_got_is_in_order_of_feet_and_of_entry():
    things = [("", "glue"), ("LH", "hind"), ("LF", "front"), ("LF", "nails")]

    assert list(got_by_foot(things).items()) == [
        ("LF", ("front", "nails")),
        ("LH", ("hind",)),
        ("", ("glue",)),
    ]


@pytest.mark.parametrize(
    ("visits", "usual"),
    [
        ([], {}),
        ([got(LF="new"), got(LF="old"), got(LF="old")], got(LF="old")),
        ([got(LF="new"), got(LF="old")], got(LF="new")),  # as often: the latest
        ([got(LF="shoe"), {}, {}], {}),  # most often bare
    ],
)
def test_usual_is_what_a_foot_got_most_often(visits, usual):
    assert usual_by_foot(visits) == usual


def shod(horse: Horse, weeks_ago: int, **feet) -> None:
    """A done visit with a shoeing: the items that each foot got, with how many of them."""
    visit = VisitFactory(place=horse.place, date=DAY - weeks_ago * WEEK, status="done")
    WorkFactory(visit=visit, horse=horse, service=ServiceFactory(name="Full set"))
    for foot, items in feet.items():
        for item, quantity in items.items():
            MaterialUseFactory(visit=visit, horse=horse, foot=foot, item=item, quantity=quantity)


@pytest.mark.django_db
def test_a_visit_is_told_foot_by_foot_with_what_was_seen():
    horse = HorseFactory(place=PlaceFactory(name="Ridge Barn"))
    front, nail = ItemFactory(name="Plain front"), ItemFactory(name="slim nails")
    shod(horse, 6, LF={front: 1, nail: 6}, RF={front: 1, nail: 6})
    FindingFactory(visit=horse.work.get().visit, horse=horse, foot="RF", zone="sole", kind="red sole")

    history = history_of(horse, past_visits(horse), Profile())

    [row] = history.rows
    assert (row.name, row.fact) == ("Full set", "Sep 2, 2026")
    assert row.more == (
        "Ridge Barn. Each fore foot: Plain front; 6 × slim nails. Seen: red sole (right fore, sole)."
    )
    assert history.usual == ["Full set.", "Each fore foot: Plain front; 6 × slim nails."]


@pytest.mark.django_db
def test_who_owned_it_before_is_listed_apart_the_latest_first():
    horse = HorseFactory()
    for name, begin, end in (("Ann", None, 300), ("Ben", 300, 100), ("Cy", 99, None), ("Di", -30, None)):
        OwnerFactory(
            horse=horse,
            client=ClientFactory(name=name),
            valid_from=begin and DAY - timedelta(begin),
            valid_to=end and DAY - timedelta(end),
        )

    record = horse_record(horse, DAY, Profile())

    assert sorted(row.name for row in record.owners) == ["Cy", "Di"]
    assert [row.name for row in record.earlier_owners] == ["Ben", "Ann"]


@pytest.mark.django_db
@pytest.mark.parametrize("page", ["practice:horse-detail", "practice:horse-history"])
def test_a_long_history_takes_as_many_queries_as_a_short_one(browser, page):
    horse, shoe = HorseFactory(), ItemFactory()
    address, counts = reverse(page, args=[horse.pk]), []
    for visits in (range(1, 3), range(3, 16)):
        for weeks in visits:
            shod(horse, weeks, LF={shoe: 1})
        browser.get(address)
        with CaptureQueriesContext(connection) as queries:
            answer = browser.get(address)
        counts.append(len(queries))

    assert counts[0] == counts[1]
    assert answer.content.decode().count("Left fore: ") == {"detail": 13, "history": 15}[page.split("-")[1]]


@pytest.mark.django_db
def test_the_page_of_a_horse_leads_to_its_whole_history(browser):
    horse = HorseFactory(name="Juno")
    for weeks in range(1, 15):
        shod(horse, weeks)

    page = browser.get(horse.get_absolute_url()).content.decode()
    history = browser.get(reverse("practice:horse-history", args=[horse.pk])).content.decode()

    assert "All 14 visits" in page
    assert "Juno: 14 visits." in history
