"""How long horses take: common practice until times are known; the service's own minutes win."""

from datetime import datetime, time, timedelta
from decimal import Decimal

import pytest

from practice.actions.times import note_horse_time, set_horse_times
from practice.actions.work import take_horse_off
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Horse, HorseTime
from practice.reports.due import due_horses
from practice.reports.records import horse_record
from practice.reports.round import day_round
from practice.reports.stop import Stop
from practice.reports.working_time import in_words, planned_times
from practice.rules.horse_work import ServiceFacts
from practice.rules.working_time import (
    PlannedMinutes,
    TimeBasis,
    TimedService,
    driving_minutes,
    minutes_by_feet,
    planned_minutes,
    time_spent,
)
from tests.factories.practice import (
    DAY,
    HorseFactory,
    HorseTimeFactory,
    PlaceFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
)

TRIM = ServiceFacts("trim")
FRONTS = ServiceFacts("fronts", new_shoes=2, is_hot=True)
FULL_SET = ServiceFacts("full set", new_shoes=4, is_hot=True)
RESET = ServiceFacts("reset", feet_nailed=4)
LOST_SHOE = ServiceFacts("lost shoe", feet_nailed=1, resets_cycle=False)
FOLLOW_UP = ServiceFacts("follow-up", resets_cycle=False)
NOON = datetime(DAY.year, DAY.month, DAY.day, 12, 0, 30)


@pytest.mark.parametrize(
    ("services", "minutes"),
    [
        ([FRONTS], 56),  # common practice, no source: 2 feet at 20 minutes and 2 at 8
        ([FULL_SET], 80),  # common practice, no source: 4 feet at 20 minutes
        ([TRIM], 32),  # common practice, no source: 4 feet at 8 minutes
        ([RESET], 80),  # no figure of its own: as if shod hot
        ([LOST_SHOE], 20),
        ([TRIM, LOST_SHOE], 44),  # one foot is nailed, the others are trimmed
        ([FULL_SET, LOST_SHOE], 80),  # a horse has four feet
        ([FOLLOW_UP], None),
        ([], None),
    ],
)
def test_before_anything_is_learned_the_feet_say_how_long_it_takes(services, minutes):
    assert minutes_by_feet(services) == minutes


@pytest.mark.parametrize(
    ("own", "pooled", "known"),
    [
        ([], [], PlannedMinutes(56, TimeBasis.USUAL)),
        ([40, 44], [50, 50], PlannedMinutes(56, TimeBasis.USUAL)),
        ([40, 44], [50, 60, 70], PlannedMinutes(60, TimeBasis.PRACTICE)),
        ([40, 44, 48], [50, 60, 70], PlannedMinutes(44, TimeBasis.HORSE)),
        (
            [40, 44, 230, 48, 46, 5, 5, 5],
            [],
            PlannedMinutes(46, TimeBasis.HORSE),
        ),  # of the last five
    ],
)
def test_what_was_learned_of_the_horse_comes_before_what_was_learned_of_all(own, pooled, known):
    assert planned_minutes([TimedService(FRONTS)], own, pooled) == known


def test_the_minutes_of_the_service_win():
    services = [TimedService(FRONTS, 70), TimedService(FOLLOW_UP)]

    assert planned_minutes(services, [40] * 5, [50] * 5) == PlannedMinutes(70, TimeBasis.OWN)


def test_a_service_without_minutes_takes_its_usual_ones_beside_one_that_has_some():
    services = [TimedService(TRIM, 25), TimedService(LOST_SHOE)]

    assert planned_minutes(services) == PlannedMinutes(45, TimeBasis.OWN)


@pytest.mark.parametrize(
    ("spent", "not_before", "known"),
    [
        (timedelta(minutes=40), [], (time(11, 20), time(12, 0))),
        (timedelta(minutes=2), [], None),  # filled in afterwards
        (timedelta(hours=5), [], None),  # left open
        (timedelta(minutes=40), [time(9), time(11, 30)], (time(11, 30), time(12, 0))),
        (timedelta(minutes=40), [time(11, 58)], None),
    ],
)
def test_a_time_is_what_the_form_was_open_for_since_the_horse_before(spent, not_before, known):
    assert time_spent(NOON, spent, not_before) == known


def test_a_form_open_over_midnight_has_no_time():
    assert time_spent(NOON.replace(hour=0, minute=20), timedelta(minutes=40)) is None


@pytest.mark.parametrize(
    ("far", "an_hour", "minutes"), [("35", "35", 60), ("12.4", "35", 21), ("0", "56", 0)]
)
def test_a_drive_takes_as_long_as_its_distance_says(far, an_hour, minutes):
    assert driving_minutes(Decimal(far), Decimal(an_hour)) == minutes


@pytest.mark.parametrize(("minutes", "words"), [(56, "56 min"), (80, "1 h 20 min"), (120, "2 h")])
def test_minutes_in_words(minutes, words):
    assert in_words(minutes) == f"about {words}"


def done(horse: Horse, service, weeks_ago: int, minutes: int | None = None) -> None:
    """Have work done on a horse, with its time where there is one."""
    visit = VisitFactory(date=DAY - timedelta(weeks=weeks_ago), status="done", place=horse.place)
    WorkFactory(visit=visit, horse=horse, service=service)
    if minutes:
        end = time(9 + minutes // 60, minutes % 60)
        HorseTimeFactory(visit=visit, horse=horse, began=time(9), finished=end)


@pytest.fixture
def fronts(db):
    return ServiceFactory(name="Fronts", new_shoes=2, feet_nailed=2, fitted="hot")


@pytest.fixture
def ridge(db):
    return PlaceFactory(name="Ridge Barn")


def minutes_of(horse: Horse, service) -> tuple[int, TimeBasis]:
    known = planned_times({horse.pk: [service]})[horse.pk]
    return known.minutes, known.basis


def test_a_horse_is_learned_from_its_own_times_with_just_the_same_work(fronts, ridge):
    juniper, other = HorseFactory(place=ridge), HorseFactory(place=ridge)
    trim = ServiceFactory()
    for weeks, minutes in ((6, 61), (12, 64), (18, 66)):
        done(juniper, fronts, weeks, minutes)
    done(juniper, trim, 3, 20)

    assert minutes_of(juniper, fronts) == (64, TimeBasis.HORSE)
    assert minutes_of(other, fronts) == (64, TimeBasis.PRACTICE)
    assert minutes_of(juniper, trim) == (32, TimeBasis.USUAL)


def test_planned_times_take_as_many_queries_for_one_horse_as_for_three(
    fronts, ridge, django_assert_num_queries
):
    horses = HorseFactory.create_batch(3, place=ridge)
    for horse in horses:
        done(horse, fronts, 6, 50)
    for some in (horses[:1], horses):
        with django_assert_num_queries(4):
            planned_times({horse.pk: [fronts] for horse in some})


def test_the_stop_and_the_horse_say_how_long_it_takes(fronts, ridge):
    juniper = HorseFactory(name="Juniper", place=ridge)
    bramble = HorseFactory(name="Bramble", place=ridge, next_call=DAY)
    done(juniper, fronts, 6)
    visit = VisitFactory(place=ridge, date=DAY)

    assert Stop(visit, profile_on(DAY)).time == "About 56 min of work, not counting Bramble."
    record = horse_record(juniper, DAY, profile_on(DAY))
    assert (
        record.time
        == "About 56 min (20 minutes for each foot shod, 8 for each foot trimmed, until times are known)."
    )
    assert horse_record(bramble, DAY, profile_on(DAY)).time == ""


def profile_on(day) -> Profile:
    profile = Profile(country="US", currency="USD")
    profile.today = day
    return profile


def test_the_round_says_when_one_would_be_done(fronts, ridge):
    truck, full = VehicleFactory(), ServiceFactory(new_shoes=4, feet_nailed=4, fitted="hot")
    done(HorseFactory(place=ridge), fronts, 6)
    lantern = PlaceFactory()
    done(HorseFactory(place=lantern), full, 6)
    VisitFactory(place=ridge, vehicle=truck, position=1)
    VisitFactory(place=lantern, vehicle=truck, position=2, arrive=time(11))

    today = day_round(DAY, DAY, profile_on(DAY), NOON.replace(hour=9, minute=15))
    before = day_round(DAY, DAY - timedelta(1), profile_on(DAY - timedelta(1)))

    [part] = today.vehicles
    assert [stop.takes for stop in part.stops] == ["about 56 min", "about 1 h 20 min"]
    assert part.ahead.replace("\u202f", " ") == (
        "From 9:15 AM: about 2 h 16 min of work, done at about 12:20 PM."  # not before 11 at the second stop
    )
    assert before.vehicles[0].ahead == "About 2 h 16 min of work."


def test_only_who_waits_is_still_counted(fronts, ridge):
    juniper = HorseFactory(place=ridge)
    done(juniper, fronts, 6)
    visit = VisitFactory(place=ridge)
    WorkFactory(visit=visit, horse=juniper, service=fronts)
    assert [row.horse for row in due_horses(before=DAY)] == [juniper]

    [part] = day_round(DAY, DAY, profile_on(DAY), NOON).vehicles

    assert (part.stops[0].takes, part.ahead) == ("", "")


@pytest.mark.django_db
def test_saving_a_horse_notes_how_long_its_form_was_open(browser, settings, monkeypatch, ridge, fronts):
    settings.TODAY = DAY
    monkeypatch.setattr("practice.views.times.now", lambda: NOON)
    visit, horse = VisitFactory(place=ridge, arrived=time(11, 30)), HorseFactory(place=ridge)
    sheet = {"work": f"{fronts.pk}", f"quantity_{fronts.pk}": "1", "save": "1", "spent": "2400"}

    browser.post(f"/visits/{visit.pk}/horses/{horse.pk}/", sheet)
    browser.post(f"/visits/{visit.pk}/horses/{horse.pk}/", sheet | {"spent": "600"})

    assert list(HorseTime.objects.values_list("horse", "began", "finished")) == [
        (horse.pk, time(11, 30), time(12))
    ]


@pytest.mark.django_db
@pytest.mark.parametrize("spent", ["", "abc", "-5", "0", "9" * 400, "1e9", "100000000"])
def test_nothing_that_is_no_time_stops_a_save(browser, settings, ridge, fronts, spent):
    settings.TODAY = DAY
    visit, horse = VisitFactory(place=ridge), HorseFactory(place=ridge)
    sheet = {"work": f"{fronts.pk}", f"quantity_{fronts.pk}": "1", "save": "1", "spent": spent}

    browser.post(f"/visits/{visit.pk}/horses/{horse.pk}/", sheet)

    assert (visit.work.count(), HorseTime.objects.count()) == (1, 0)


@pytest.mark.django_db
def test_the_times_of_horses_are_corrected_with_those_of_the_stop(browser):
    time_of = HorseTimeFactory()
    visit, horse = time_of.visit, time_of.horse
    WorkFactory(visit=visit, horse=horse)
    names = f"began_{horse.pk}", f"finished_{horse.pk}"

    def correct(began: str, finished: str) -> list:
        typed = {"arrived": "", "leave": "", names[0]: began, names[1]: finished}
        page = browser.post(f"/visits/{visit.pk}/times/", typed)
        errors = page.context["form"].errors if page.status_code == 200 else {}
        return [*HorseTime.objects.values_list("began", "finished"), *errors.values()]

    assert correct("10:00", "10:50") == [(time(10), time(10, 50))]
    assert correct("10:00", "") == [(time(10), time(10, 50)), ["Type both times, or leave both blank."]]
    assert correct("10:50", "10:50") == [
        (time(10), time(10, 50)),
        [f"{horse} cannot be finished before you begin."],
    ]
    assert correct("", "") == []


@pytest.mark.django_db
def test_a_horse_that_is_taken_off_leaves_no_time():
    time_of = HorseTimeFactory()
    WorkFactory(visit=time_of.visit, horse=time_of.horse)

    take_horse_off(time_of.visit, time_of.horse)

    assert HorseTime.objects.count() == 0


@pytest.mark.django_db
def test_no_time_of_a_horse_lies_on_another_day():
    visit, horse = VisitFactory(), HorseFactory()

    note_horse_time(visit, horse, NOON + timedelta(1), timedelta(minutes=40))
    with pytest.raises(RuleBroken):
        set_horse_times(visit, {horse: (time(9), time(8))})

    assert HorseTime.objects.count() == 0
