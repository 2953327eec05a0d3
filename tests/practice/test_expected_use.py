"""What horses and the road are expected to take: learned from the book."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest

from practice.actions.visits import complete_visit
from practice.models import Horse, LifeEvent
from practice.reports import past_work
from practice.reports.expected_use import expected_use
from practice.reports.past_work import PastWork
from stock.actions.movements import waste_item
from stock.rules.planning import shift_chances, unplanned_rate
from tests.factories.practice import (
    DAY,
    HorseFactory,
    MaterialUseFactory,
    PlaceFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory

pytestmark = pytest.mark.django_db
WEEK = timedelta(weeks=1)


def done(horse: Horse, on: date, *takes: tuple, resets: bool = True):
    """A done visit with one work on a horse that took items."""
    visit = VisitFactory(date=on, place=horse.place)
    WorkFactory(visit=visit, horse=horse, service=ServiceFactory(resets_cycle=resets))
    for item, quantity in takes:
        MaterialUseFactory(visit=visit, horse=horse, item=item, quantity=Decimal(quantity))
    return complete_visit(visit)


def as_plain(inputs):
    return [
        (
            [
                (candidate.key, candidate.day, candidate.every, candidate.amounts)
                for candidate in row.candidates
            ],
            row.planned,
        )
        for row in inputs
    ]


def test_a_horse_takes_what_its_last_three_cycle_works_took():
    shoe, horse = ItemFactory(), HorseFactory(cycle_weeks=6)
    for weeks, quantity in ((26, 9), (20, 4), (13, 0), (5, 2)):
        done(horse, DAY - weeks * WEEK, *([(shoe, quantity)] if quantity else []))
    done(horse, DAY - WEEK, (shoe, 1), resets=False)

    found = expected_use(DAY).expected

    assert as_plain(found.inputs) == [([(horse.pk, 7, 42, {shoe.pk: (2, 0, 4)})], False)]


def test_what_came_back_from_a_visit_was_not_taken():
    from practice.models import MaterialReturn
    from stock.actions.movements import NewFact, add_facts

    shoe, horse = ItemFactory(), HorseFactory()
    visit = done(horse, DAY - 5 * WEEK, (shoe, 4))
    job = f"{visit.pk}/{horse.pk}"
    [back] = add_facts([NewFact(shoe, DAY - 4 * WEEK, "visit return", Decimal(1), job=job)])
    MaterialReturn.objects.create(movement=back, visit=visit, horse=horse)

    [taken] = expected_use(DAY).taken[horse.pk]

    assert taken.amounts == {shoe.pk: 3}


def test_the_practices_own_punctuality_is_learned_by_cycle_alone():
    horse = HorseFactory(cycle_weeks=6, next_call=DAY + 9 * WEEK)
    for days in (90, 90 - 45, 90 - 45 - 40):
        done(horse, DAY - timedelta(days))
    gone = HorseFactory(status="sold", cycle_weeks=4)
    done(gone, DAY - timedelta(60))
    done(gone, DAY - timedelta(30))

    assert expected_use(DAY).expected.shifts == shift_chances([-2, 2, 3])


def test_horses_of_a_place_go_together_and_others_alone():
    shoe, place = ItemFactory(), PlaceFactory()
    first, second, late = (HorseFactory(place=place) for _ in range(3))
    elsewhere, nowhere = HorseFactory(), HorseFactory(place=None)
    for horse, days in ((first, 40), (second, 34), (late, 20), (elsewhere, 40), (nowhere, 40)):
        horse_at = horse if horse.place else None
        visit = VisitFactory(date=DAY - timedelta(days), place=horse_at.place if horse_at else place)
        WorkFactory(visit=visit, horse=horse)
        MaterialUseFactory(visit=visit, horse=horse, item=shoe)
        complete_visit(visit)

    found = expected_use(DAY).expected.inputs

    assert [[candidate.key for candidate in row.candidates] for row in found] == [
        [first.pk, second.pk],
        [late.pk],
        [elsewhere.pk],
        [nowhere.pk],
    ]


def test_a_horse_over_by_more_than_its_cycle_is_to_be_asked_about():
    forgotten, overdue, away = HorseFactory(), HorseFactory(), HorseFactory(status="away")
    done(forgotten, DAY - timedelta(85))
    done(overdue, DAY - timedelta(84))
    done(away, DAY - timedelta(40))

    found = expected_use(DAY)

    assert [row.horse for row in found.forgotten] == [forgotten]
    # Over by more than the whole histogram: due on the first day.
    assert as_plain(found.expected.inputs) == [([(overdue.pk, 1, 42, {})], False)]


def test_a_planned_visit_with_work_is_certain_and_its_horse_not_due_besides():
    shoe, horse = ItemFactory(), HorseFactory()
    done(horse, DAY - 6 * WEEK, (shoe, 4))
    planned = VisitFactory(date=DAY + 3 * WEEK, place=horse.place)
    WorkFactory(visit=planned, horse=horse)

    found = expected_use(DAY).expected.inputs

    assert as_plain(found) == [([(horse.pk, 21, 42, {shoe.pk: (4,)})], True)]


def test_planned_work_that_does_not_reset_the_cycle_leaves_the_horse_due():
    horse = HorseFactory()
    done(horse, DAY - 5 * WEEK)
    planned = VisitFactory(date=DAY + timedelta(1), place=horse.place)
    WorkFactory(visit=planned, horse=horse, service=ServiceFactory(resets_cycle=False))

    assert as_plain(expected_use(DAY).expected.inputs) == [([(horse.pk, 7, 42, {})], False)]


def test_a_planned_visit_without_work_stands_for_the_horses_due_by_a_week_after():
    place = PlaceFactory()
    soon, later, named = (HorseFactory(place=place) for _ in range(3))
    done(soon, DAY - 6 * WEEK + timedelta(9))
    done(later, DAY - 6 * WEEK + timedelta(10))
    done(named, DAY - 6 * WEEK)
    VisitFactory(date=DAY + timedelta(2), place=place)
    WorkFactory(visit=VisitFactory(date=DAY + timedelta(8), place=place), horse=named)

    found = expected_use(DAY).expected.inputs

    assert [([(c.key, c.day) for c in row.candidates], row.planned) for row in found] == [
        ([(soon.pk, 2)], True),
        ([(named.pk, 8)], True),
        ([(later.pk, 10)], False),
    ]


def test_a_horse_on_two_planned_visits_comes_round_again_after_the_last():
    horse = HorseFactory()
    done(horse, DAY - 6 * WEEK)
    for days in (3, 20):
        plan(horse, days)

    found = expected_use(DAY).expected.inputs

    assert [(c.day, c.every, c.times) for row in found for c in row.candidates] == [
        (3, 42, 1),
        (20, 42, None),
    ]


def plan(horse: Horse, days: int, named: bool = True):
    """A visit planned so many days after the day asked, with work on the horse, or without any."""
    visit = VisitFactory(date=DAY + timedelta(days), place=horse.place)
    if named:
        WorkFactory(visit=visit, horse=horse)
    return visit


def reckoned():
    """What is expected after the day: each one's day, how often it comes round, whether it is planned."""
    inputs = expected_use(DAY).expected.inputs
    return [(c.key, c.day, c.times, row.planned) for row in inputs for c in row.candidates]


@pytest.mark.parametrize("named", [True, False], ids=["named", "stood for"])
def test_a_visit_half_a_cycle_after_the_due_date_is_the_next_call(named):
    horse = HorseFactory(cycle_weeks=6)
    done(horse, DAY - 6 * WEEK + timedelta(5))  # due in five days
    plan(horse, 5 + 21, named)

    assert reckoned() == [(horse.pk, 26, None, True)]


def test_a_visit_booked_further_ahead_hides_no_horse_that_comes_due_before_it():
    horse = HorseFactory(cycle_weeks=6)
    done(horse, DAY - 6 * WEEK + timedelta(5))
    plan(horse, 5 + 22, named=False)

    assert reckoned() == [(horse.pk, 5, None, False)]


def test_a_horse_named_by_a_visit_further_ahead_comes_due_before_it_as_well():
    horse = HorseFactory(cycle_weeks=6)
    done(horse, DAY - 6 * WEEK + timedelta(5))
    plan(horse, 5 + 22)

    assert reckoned() == [(horse.pk, 27, None, True), (horse.pk, 5, 1, False)]


def test_half_a_cycle_counts_from_the_day_asked_where_the_horse_is_overdue():
    late, later = HorseFactory(cycle_weeks=6), HorseFactory(cycle_weeks=6)
    for horse, days in ((late, 21), (later, 22)):
        done(horse, DAY - 6 * WEEK - timedelta(10))  # overdue by ten days
        plan(horse, days, named=False)

    # The second is over by less than the whole histogram: the fourteen days late are left of it.
    assert reckoned() == [(late.pk, 21, None, True), (later.pk, -10, None, False)]


def test_half_of_an_odd_cycle_is_not_rounded():
    # Five weeks are 35 days: 17 days after the due date are within half of it, 18 are not.
    near, far = HorseFactory(cycle_weeks=5), HorseFactory(cycle_weeks=5)
    for horse, days in ((near, 17), (far, 18)):
        done(horse, DAY - 5 * WEEK)
        plan(horse, days, named=False)

    assert reckoned() == [(near.pk, 17, None, True), (far.pk, 0, None, False)]


def test_the_rounds_before_a_visit_far_ahead_all_count():
    # Due now, in 4 and in 8 weeks; a visit after 13 weeks stands for the round of week 12.
    horse = HorseFactory(cycle_weeks=4)
    done(horse, DAY - 4 * WEEK)
    plan(horse, 13 * 7)

    assert reckoned() == [(horse.pk, 91, None, True), (horse.pk, 0, 3, False)]


def test_a_named_horse_is_not_stood_for_by_a_visit_less_than_half_a_cycle_from_it():
    horse = HorseFactory(cycle_weeks=6)
    done(horse, DAY - 6 * WEEK)
    plan(horse, 2, named=False)
    plan(horse, 22)

    # Its visit is too far ahead to be its next call, but the other is too near to that one.
    assert reckoned() == [(horse.pk, 22, None, True), (horse.pk, 0, 1, False)]


def test_a_named_horse_is_stood_for_by_a_visit_half_a_cycle_before_it():
    horse = HorseFactory(cycle_weeks=6)
    done(horse, DAY - 6 * WEEK)
    plan(horse, 2, named=False)
    plan(horse, 23)

    assert reckoned() == [(horse.pk, 2, 1, True), (horse.pk, 23, None, True)]


def test_a_forgotten_horse_is_stood_for_by_no_visit_and_certain_where_one_names_it():
    stood, named = HorseFactory(cycle_weeks=6), HorseFactory(cycle_weeks=6)
    for horse in (stood, named):
        done(horse, DAY - timedelta(85))
        plan(horse, 30, named=horse is named)

    assert reckoned() == [(named.pk, 30, None, True)]
    assert [row.horse for row in expected_use(DAY).forgotten] == [stood, named]


def test_events_are_what_a_horse_took_without_cycle_work_and_waste():
    shoe, nail, pad, never = ItemFactory.create_batch(4)
    horse = HorseFactory()
    done(horse, DAY - 60 * WEEK, (shoe, 7), resets=False)  # seen too long ago
    done(horse, DAY - 20 * WEEK, (shoe, 1), (nail, 6), resets=False)
    done(horse, DAY - 10 * WEEK, (shoe, 4), (pad, 2))
    done(HorseFactory(), DAY - 11 * WEEK, (pad, 3))
    waste_item(shoe, Decimal(3), on=DAY - WEEK)

    found = expected_use(DAY).expected.unplanned

    rate = unplanned_rate
    assert {item: (row.per_week, row.amounts) for item, row in found.items()} == {
        shoe.pk: (rate(2, Fraction(60)), (1, 3)),
        nail.pk: (rate(1, Fraction(60)), (6,)),
        pad.pk: (rate(0, Fraction(60)), (2,)),  # the lower middle one of what a horse took
    }
    assert never.pk not in found


def test_the_past_is_asked_as_it_was_known_of():
    shoe, horse = ItemFactory(), HorseFactory()
    done(horse, DAY - 6 * WEEK, (shoe, 4))
    done(horse, DAY, (shoe, 2))

    found = expected_use(DAY - timedelta(1)).expected.inputs

    assert as_plain(found) == [([(horse.pk, 1, 42, {shoe.pk: (4,)})], False)]


@pytest.mark.parametrize("seen", [2, 5, 100])
def test_the_last_year_says_what_the_whole_book_does(monkeypatch, seen):
    monkeypatch.setattr(past_work, "SHIFTS_SEEN", seen)
    cycles = {}
    for weeks in ((2, 9, 15, 60), (20, 27, 90), (70, 80, 85, 91), (3,), ()):
        horse = HorseFactory(cycle_weeks=6)
        cycles[horse.pk] = 42
        for ago in weeks:
            done(horse, DAY - ago * WEEK)
    LifeEvent.objects.create(horse=horse, kind="done elsewhere", date=DAY - 30 * WEEK)
    done(horse, DAY - 25 * WEEK)

    found = []
    for span in (52 * WEEK, 1000 * WEEK):
        monkeypatch.setattr(past_work, "WEEKS_SEEN", span)
        history = PastWork(DAY)
        found.append((history.last_works(cycles), history.shifts(cycles)))

    assert found[0] == found[1]
    assert len(found[0][1]) == min(seen, 9)
