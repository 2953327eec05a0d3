"""What follows from a tap on the form of a horse. Pure: services and items stand as words."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from practice.rules.horse_work import (
    FEET,
    FORE,
    HIND,
    HorseWork,
    ServiceFacts,
    UseLine,
    UsualShoeing,
    WorkLine,
    again,
    as_recorded,
    choose_nail,
    choose_shoe,
    is_free_renail,
    step_count,
    step_nails,
    tap_foot,
    tap_service,
    uses_of,
)

D = Decimal
TRIM = ServiceFacts("trim")
RESET = ServiceFacts("reset", new_shoes=0, feet_nailed=4)
FRONTS = ServiceFacts("fronts", new_shoes=2, feet_nailed=2, is_hot=True)
NEW_FRONTS_RESET_HINDS = ServiceFacts("fronts new, hinds reset", new_shoes=2, feet_nailed=4)
FULL_SET = ServiceFacts("full set", new_shoes=4, feet_nailed=4)
LOST_SHOE = ServiceFacts("lost shoe", new_shoes=1, feet_nailed=1, resets_cycle=False)
FOLLOW_UP = ServiceFacts("follow-up", resets_cycle=False)
SERVICES = {
    service.key: service
    for service in (TRIM, RESET, FRONTS, NEW_FRONTS_RESET_HINDS, FULL_SET, LOST_SHOE, FOLLOW_UP)
}
USUAL = UsualShoeing({"LF": "front 2", "RF": "front 2", "LH": "hind 1", "RH": "hind 1"}, "slim 5")
KINDS = {"front 2": "shoe", "front 3": "shoe", "hind 1": "shoe", "slim 5": "nail", "pad": "pad"}

BLANK = HorseWork()


def tapped(*services, state=BLANK, usual=USUAL):
    """The state after these services were tapped, one after the other."""
    for service in services:
        others = [SERVICES[key] for key in state.services if key != service.key]
        state = tap_service(state, service, others, usual)
    return state


def foot_tapped(state, foot):
    return tap_foot(state, foot, [SERVICES[key] for key in state.services], USUAL)


FULL = tapped(FULL_SET)


@pytest.mark.parametrize(
    ("service", "feet", "shod", "nail", "nails"),
    [
        (TRIM, (), (), None, 0),
        (RESET, FEET, (), "slim 5", 24),
        (FRONTS, FORE, FORE, "slim 5", 12),
        (NEW_FRONTS_RESET_HINDS, FEET, FORE, "slim 5", 24),
        (FULL_SET, FEET, FEET, "slim 5", 24),
        (LOST_SHOE, (), (), "slim 5", 6),
    ],
    ids=lambda value: getattr(value, "key", None),
)
def test_a_service_sets_feet_usual_shoes_and_six_nails_a_shoe(service, feet, shod, nail, nails):
    """Six nails a shoe: common practice, no source."""
    state = tapped(service)

    assert state == HorseWork(
        (WorkLine(service.key),),
        feet=feet,
        shoes={foot: USUAL.shoes[foot] for foot in shod},
        nail=nail,
        nails=D(nails),
    )


def test_another_shoeing_takes_the_place_of_the_first_and_of_its_note_and_leaves_other_items_alone():
    full_set = WorkLine("full set", D(2), D(300), "quarter crack")
    before = replace(FULL, work=(full_set,), counts={"pad": D(2)})

    state = tapped(TRIM, state=before)

    assert state == HorseWork((WorkLine("trim", note="quarter crack"),), counts={"pad": D(2)})


def test_a_lost_shoe_stands_beside_a_trim_and_each_is_tapped_off_alone():
    both = foot_tapped(tapped(TRIM, LOST_SHOE), "RF")

    assert both == HorseWork(
        (WorkLine("trim"), WorkLine("lost shoe")), ("RF",), {"RF": "front 2"}, "slim 5", D(6)
    )
    assert tapped(TRIM, state=both) == replace(both, work=(WorkLine("lost shoe"),))
    assert tapped(LOST_SHOE, state=both) == tapped(TRIM)
    assert tapped(LOST_SHOE, TRIM).services == ["lost shoe", "trim"]


def test_what_stands_beside_a_shoeing_leaves_its_feet_alone():
    without = foot_tapped(FULL, "RH")

    for service in (LOST_SHOE, FOLLOW_UP):
        beside = tapped(service, state=without)
        assert replace(beside, work=without.work) == without
    assert tapped(FOLLOW_UP, FOLLOW_UP, state=without) == without


def test_work_that_is_tapped_off_takes_its_feet_shoes_and_nails_away():
    assert tapped(FULL_SET, FULL_SET) == HorseWork()
    with_pad = HorseWork(counts={"pad": D(1)})
    assert tapped(TRIM, TRIM, state=with_pad) == with_pad


def test_every_line_of_a_service_is_tapped_off_with_it():
    state = as_recorded([WorkLine("trim"), WorkLine("trim", D(2)), WorkLine("follow-up")], [])

    assert [line.key for line in state.work] == ["trim", "trim-2", "follow-up"]
    assert tapped(TRIM, state=state).services == ["follow-up"]


def test_without_anything_usual_feet_are_set_and_nothing_goes_on():
    state = tapped(FRONTS, usual=UsualShoeing({}))

    assert (state.feet, state.shoes, state.nail, state.nails) == (FORE, {}, None, 0)


def test_a_foot_tapped_off_takes_its_shoe_and_nails_away():
    state = foot_tapped(FULL, "RH")

    assert (state.feet, set(state.shoes), state.nails) == (("LF", "RF", "LH"), {"LF", "RF", "LH"}, 18)


def test_a_foot_tapped_off_takes_its_even_part_of_a_count_that_was_typed():
    typed = replace(FULL, nails=D(26))

    assert typed.nails_by_foot == {"LF": 7, "RF": 7, "LH": 6, "RH": 6}
    assert tap_foot(typed, "LF").nails == 19


def test_a_foot_tapped_on_gets_its_usual_shoe_only_where_the_service_puts_new_ones_on():
    fronts = tapped(FRONTS)
    reset = tapped(RESET)

    shod = foot_tapped(fronts, "LH")
    nailed = foot_tapped(foot_tapped(reset, "LH"), "LH")

    assert (shod.feet, shod.shoes["LH"], shod.nails) == (("LF", "RF", "LH"), "hind 1", 18)
    assert nailed == reset


def test_nails_of_no_foot_go_to_the_first_one_tapped():
    lost = tapped(LOST_SHOE)

    first = foot_tapped(lost, "RF")
    second = foot_tapped(first, "LF")

    assert (first.shoes, first.nails) == ({"RF": "front 2"}, 6)
    assert (second.feet, second.nails) == (("LF", "RF"), 12)


def test_a_foot_tapped_on_a_trim_takes_nothing():
    state = foot_tapped(tapped(TRIM), "LF")

    assert (state.feet, state.shoes, state.nails) == (("LF",), {}, 0)


@given(
    st.sampled_from([TRIM, RESET, FRONTS, NEW_FRONTS_RESET_HINDS, FULL_SET, LOST_SHOE]),
    st.lists(st.sampled_from(FEET), max_size=12),
)
def test_whatever_is_tapped_shoes_are_on_tapped_feet_and_nails_are_six_a_foot(service, taps):
    state = tapped(service)
    for foot in taps:
        state = foot_tapped(state, foot)

    assert set(state.shoes) <= set(state.feet)
    assert list(state.feet) == [foot for foot in FEET if foot in state.feet]
    if state.nail and state.feet:
        assert state.nails == 6 * len(state.feet)


def test_a_size_goes_on_the_feet_of_the_pair_that_get_a_shoe():
    one = tap_foot(FULL, "RF")

    assert choose_shoe(FULL, FORE, "front 3").shoes == FULL.shoes | dict.fromkeys(FORE, "front 3")
    assert choose_shoe(one, FORE, "front 3").shoes == {"LF": "front 3", "LH": "hind 1", "RH": "hind 1"}


def test_a_size_for_one_foot_leaves_its_pair_alone():
    state = choose_shoe(FULL, ("RF",), "front 3")

    assert state == replace(FULL, shoes=FULL.shoes | {"RF": "front 3"})
    assert choose_shoe(FULL, ("RF",), None).shoes == {"LF": "front 2", "LH": "hind 1", "RH": "hind 1"}


def test_a_size_for_a_pair_that_gets_none_taps_both_feet():
    fronts = tapped(FRONTS)

    state = choose_shoe(fronts, HIND, "hind 1")

    assert (state.feet, state.shoes, state.nails) == (FEET, USUAL.shoes, 24)


def test_the_old_shoe_can_go_back_on():
    state = choose_shoe(FULL, HIND, None)

    assert (state.feet, set(state.shoes), state.nails) == (FEET, {"LF", "RF"}, 24)


def test_another_nail_keeps_the_count_and_a_first_one_counts_six_a_shoe():
    bare = tapped(FRONTS, usual=UsualShoeing({}))

    assert (choose_nail(FULL, "slim 6").nail, choose_nail(FULL, "slim 6").nails) == ("slim 6", 24)
    assert choose_nail(bare, "slim 5").nails == 12


def test_counts_step_by_one_and_never_below_none():
    state = step_count(step_count(FULL, "pad", 1), "pad", 1)

    assert (state.counts, step_count(FULL, "pad", -1).counts) == ({"pad": 2}, {"pad": 0})
    assert (step_nails(FULL, 1).nails, step_nails(HorseWork(), -1).nails) == (25, 0)


WORK = [WorkLine("fronts", D(1), D(150), "long toe"), WorkLine("trim", D(1), D(20))]
USES = [
    UseLine("front 2", "shoe", D(1), "LF", D(9)),
    UseLine("front 2", "shoe", D(1), "RF"),
    UseLine("slim 5", "nail", D(8), "LF"),
    UseLine("slim 5", "nail", D(6), "RF"),
    UseLine("pad", "pad", D(1), "", D(12)),
    UseLine("front 2", "shoe", D(1)),
]


def test_what_was_recorded_shows_and_is_the_same_lines_again():
    state = as_recorded(WORK, USES)

    assert (state.feet, state.shoes, state.nails) == (FORE, dict.fromkeys(FORE, "front 2"), 14)
    assert (state.counts, state.work) == ({"pad": 1, "front 2": 1}, tuple(WORK))
    assert uses_of(state, USES, KINDS) == USES


def test_nothing_recorded_is_an_empty_form():
    assert as_recorded([], []) == HorseWork()


def test_changed_nails_are_shared_out_anew_and_the_rest_stays():
    state = step_nails(as_recorded(WORK, USES), 1)

    assert uses_of(state, USES, KINDS) == [
        *USES[:2],
        UseLine("slim 5", "nail", D(8), "LF"),
        UseLine("slim 5", "nail", D(7), "RF"),
        *USES[4:],
    ]


def test_a_changed_count_keeps_its_price_and_another_shoe_has_none():
    state = choose_shoe(step_count(as_recorded(WORK, USES), "pad", 1), FORE, "front 3")

    uses = uses_of(state, USES, KINDS)

    assert uses[:2] == [UseLine("front 3", "shoe", D(1), foot) for foot in FORE]
    assert uses[4] == UseLine("pad", "pad", D(2), "", D(12))


def test_again_is_the_same_work_without_its_price_and_note():
    state = again(as_recorded(WORK, USES))

    assert state.work == (WorkLine("fronts"), WorkLine("trim"))
    assert replace(state, work=tuple(WORK)) == as_recorded(WORK, USES)


DAY = date(2026, 10, 14)


@pytest.mark.parametrize(
    ("service", "days_ago", "within", "free"),
    [
        (LOST_SHOE, 14, 14, True),
        (LOST_SHOE, 15, 14, False),
        (LOST_SHOE, 0, 0, True),
        (LOST_SHOE, 1, None, False),
        (LOST_SHOE, None, 14, False),
        (FOLLOW_UP, 1, 14, False),
        (RESET, 1, 14, False),
    ],
)
def test_a_lost_shoe_is_free_within_days_of_the_last_nailing(service, days_ago, within, free):
    nailed_on = None if days_ago is None else DAY - timedelta(days_ago)

    assert is_free_renail(service, nailed_on, DAY, within) == free


def test_the_proposed_price_stands_on_the_line_that_is_tapped_alone():
    state = tap_service(tapped(TRIM), LOST_SHOE, [TRIM], USUAL, D(0))

    assert [(line.service, line.price) for line in state.work] == [("trim", None), ("lost shoe", 0)]
