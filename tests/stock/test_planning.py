"""Distributions of what will be used, against scipy, published figures and enumeration by hand."""

import itertools
import math
from collections import defaultdict
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from stock.rules.planning import (
    MOST_STEPS,
    Demand,
    NeedGroup,
    RoundNeed,
    Unplanned,
    day_for,
    demand,
    in_groups,
    lower_median,
    quantity_to_order,
    rounds,
    shift_chances,
    unplanned_rate,
)

D = Decimal
NOBODY = Unplanned(0.0)


def alone(chance: float, amount: int) -> tuple[NeedGroup, dict]:
    """One that is done in the window with some chance and takes this much."""
    need = RoundNeed(1, 1000, (D(amount),))
    return NeedGroup(1, (need,)), {(1,): chance, (0,): 1 - chance}


@pytest.mark.parametrize(("mean", "smallest"), [(1.5, 4), (3, 6), (6, 10), (12, 18), (24, 32)])
def test_events_of_one_unit_are_a_poisson(mean, smallest):
    # The smallest k with P(<= k) >= 95 %: computed with scipy.
    found = demand([], Unplanned(mean, (D(1),)), window=7)

    assert found.quantile(0.95) == smallest == stats.poisson.ppf(0.95, mean)
    assert found.chances[:40] == pytest.approx(stats.poisson.pmf(range(len(found.chances)), mean)[:40])


def test_many_events_do_not_underflow():
    found = demand([], Unplanned(1500.0, (D(1),)), window=7)

    assert found.quantile(0.95) == stats.poisson.ppf(0.95, 1500)
    assert math.fsum(found.chances) == pytest.approx(1)


def test_events_of_several_sizes_are_a_compound_poisson():
    # By definition: the sum over the number of events of the chance of that number times its convolution.
    found = demand([], Unplanned(0.5, (D(1), D(1), D(2), D(6))), window=14)

    one, by_hand, sums = {1: 0.5, 2: 0.25, 6: 0.25}, defaultdict(float), {0: 1.0}
    for events in range(40):
        for size, chance in sums.items():
            by_hand[size] += stats.poisson.pmf(events, 1.0) * chance
        later = defaultdict(float)
        for size, chance in sums.items():
            for more, part in one.items():
                later[size + more] += chance * part
        sums = {size: chance for size, chance in later.items() if chance > 1e-18}
    assert found.chances[:30] == pytest.approx([by_hand[k] for k in range(30)], abs=1e-12)


def test_horses_with_chances_of_their_own_are_a_poisson_binomial():
    # .1 .2 .2 -> .576 .352 .068 .004: published in the documentation of a PyPI library.
    found = demand([alone(p, 1) for p in (0.1, 0.2, 0.2)], NOBODY, window=7)

    assert found.chances == pytest.approx([0.576, 0.352, 0.068, 0.004])
    assert found.chances == pytest.approx(stats.poisson_binom.pmf(range(4), [0.1, 0.2, 0.2]))


def test_three_horses_that_take_two_or_four_shoes():
    # Exact enumeration: .9, .8, .5 taking 4, 2, 4.
    found = demand([alone(0.9, 4), alone(0.8, 2), alone(0.5, 4)], NOBODY, window=7)

    assert found.step == 2
    assert found.chances == pytest.approx([0.01, 0.04, 0.10, 0.40, 0.09, 0.36])
    assert (found.mean, found.quantile(0.9)) == (pytest.approx(7.2), 10)
    assert found.chance_above(D(6)) == pytest.approx(0.45)
    assert found.chance_above(D(7)) == pytest.approx(0.45)
    assert found.chance_above(D(-1)) == 1


def test_the_textbook_order_point_by_the_normal_rule_misses_what_the_quantile_sees():
    # Textbook (as published): 60 a week, lead time 6 weeks with standard deviation 2, 90 %:
    # 360 + 1.28 x 60 x 2 = 513.6. The same rule for a barn of eight horses that come all or not at all
    # (mean 16, standard deviation 16) says 36.5; the most that they can take is 32.
    rule = 360 + 1.28 * 60 * 2
    assert rule == pytest.approx(513.6)
    barn = NeedGroup(1, (RoundNeed(1, 1000, (D(4),)),) * 8)

    found = demand([(barn, {(1,) * 8: 0.5, (0,) * 8: 0.5})], NOBODY, window=7)

    by_rule = found.mean + 1.28 * 16
    assert (found.mean, by_rule) == (pytest.approx(16), pytest.approx(36.48))
    assert (found.quantile(0.9), found.quantile(0.5)) == (32, 0)


def test_the_shift_is_what_was_seen_and_ten_works_spread_over_three_weeks():
    found = shift_chances([0] * 90)

    assert found == pytest.approx({day: (10 / 22 + (90 if day == 0 else 0)) / 100 for day in range(-7, 15)})


def test_a_horse_leaves_out_the_part_of_the_histogram_that_has_passed():
    # Three days over: -7 ... +3 have passed, eleven of 22 are left; the window of 5 days sees five.
    shifts = shift_chances([])

    found = rounds(NeedGroup(-3, (RoundNeed(-3, 42),)), shifts, window=5)

    assert found == {(1,): pytest.approx(5 / 11), (0,): pytest.approx(6 / 11)}


def test_one_over_by_more_than_the_histogram_is_due_on_the_first_day():
    shifts = shift_chances([])

    assert [day_for(due, shifts) for due in (-15, -14, -13, 3)] == [1, 1, -13, 3]


def test_one_that_comes_round_so_many_times_comes_no_more():
    ever, twice = RoundNeed(1, 7, (D(1),)), RoundNeed(1, 7, (D(1),), times=2)

    # Every week on the day: days 1, 8, 15 and 22 of a window of 28, or the first two of them.
    assert rounds(NeedGroup(1, (ever, twice)), {0: 1.0}, window=28) == {(4, 2): pytest.approx(1)}


def test_horses_of_a_place_within_a_week_of_the_first_go_together():
    needs = [RoundNeed(day, 42) for day in (9, 1, 8, 20, 27, 28)]

    assert [[need.day for need in one] for one in in_groups(needs)] == [[1, 8], [9], [20, 27], [28]]


def test_a_group_shares_one_draw_added_to_each_ones_own_date():
    shifts = {-2: 0.25, 0: 0.5, 3: 0.25}
    together = NeedGroup(4, (RoundNeed(4, 42), RoundNeed(8, 42)))

    assert rounds(together, shifts, window=7) == {(1, 1): 0.25, (1, 0): 0.75}


def test_a_short_cycle_comes_round_twice():
    # Due on day 2 and every 7 days: done on 2 or 3, then 7 days later or one more.
    shifts = {0: 0.5, 1: 0.5}

    found = rounds(NeedGroup(2, (RoundNeed(2, 7),)), shifts, window=9)

    assert found == {(2,): 0.25, (1,): 0.75}


def test_a_planned_visit_is_certain_and_its_horses_come_round_after_it():
    shifts = {0: 0.5, 1: 0.5}
    together = NeedGroup(3, (RoundNeed(3, 7), RoundNeed(3, 42)), planned=True)

    assert rounds(together, shifts, window=10) == {(2, 1): 0.5, (1, 1): 0.5}
    assert rounds(together, shifts, window=2) == {(0, 0): 1.0}


def by_enumeration(groups, shifts, window):
    """Every draw of every group, two rounds each, and every past work: slow and plain."""
    total = {D(0): 1.0}
    for together in groups:
        left = {s: p for s, p in shifts.items() if together.first + s > 0}
        whole = sum(left.values())
        found = defaultdict(float)
        for (one, p), (two, q) in itertools.product(left.items(), shifts.items()):
            sums = {D(0): p / whole * q}
            for need in together.needs:
                first = need.day + one
                times = (0 < first <= window) + (0 < first + need.every + two <= window)
                for _ in range(times):
                    later = defaultdict(float)
                    for size, chance in sums.items():
                        for amount in need.amounts:
                            later[size + amount] += chance / len(need.amounts)
                    sums = later
            for size, chance in sums.items():
                found[size] += chance
        total, before = defaultdict(float), total
        for (a, p), (b, q) in itertools.product(before.items(), found.items()):
            total[a + b] += p * q
    return dict(total)


needs = st.builds(
    RoundNeed,
    st.integers(-6, 12),
    st.integers(12, 20),
    st.lists(st.sampled_from([D(0), D(2), D(4), D("2.5"), D(12)]), min_size=1, max_size=3).map(tuple),
)


@settings(max_examples=60)
@given(st.lists(needs, min_size=1, max_size=4))
def test_any_horses_at_a_place_need_what_enumeration_says(needs):
    shifts = {-3: 0.2, 0: 0.5, 5: 0.2, 7: 0.1}
    groups = [NeedGroup(one[0].day, one) for one in in_groups(needs)]

    found = demand([(one, rounds(one, shifts, window=14)) for one in groups], NOBODY, window=14)

    expected = by_enumeration(groups, shifts, window=14)
    assert {k * found.step: pytest.approx(p, abs=1e-9) for k, p in enumerate(found.chances) if p > 1e-12} == {
        amount: chance for amount, chance in expected.items() if chance > 1e-12
    }


def test_a_step_is_fine_enough_for_millilitres_that_share_none():
    # 40 horses, each 31.37 to 70.61 ml: exact steps of 0.01 ml would be too many.
    amounts = [tuple(D(3137 + 97 * i + 13 * j) / 100 for j in range(3)) for i in range(40)]
    groups = [(NeedGroup(1, (RoundNeed(1, 1000, a),)), {(1,): 0.5, (0,): 0.5}) for a in amounts]

    found = demand(groups, NOBODY, window=7)

    mean = float(sum(sum(a) / 3 for a in amounts)) / 2
    variance = sum(
        sum(float(x) ** 2 for x in a) / 3 / 2 - (sum(float(x) for x in a) / 3 / 2) ** 2 for a in amounts
    )
    assert found.step < D("0.4") and len(found.chances) <= MOST_STEPS + 50
    assert found.mean == pytest.approx(mean, rel=1e-9)
    # Forty independent horses are near enough to the normal curve to see a coarse step.
    assert float(found.quantile(0.95)) == pytest.approx(mean + 1.645 * variance**0.5, rel=0.01)


def test_events_a_week_have_half_an_event_in_four_weeks_as_prior():
    assert unplanned_rate(0, Fraction(0)) == 0.125
    assert unplanned_rate(3, Fraction(100)) == 3.5 / 56
    assert unplanned_rate(2, Fraction(30, 7)) == pytest.approx(2.5 / (30 / 7 + 4))


def test_the_median_is_the_lower_middle_one():
    assert lower_median([D(6), D(4), D(1), D(5)]) == 4


def test_something_is_ordered_exactly_when_the_stock_is_below_the_order_point():
    now, later = Demand(D(1), [0.2, 0.2, 0.6]), Demand(D(1), [0.1, 0.1, 0.1, 0.1, 0.1, 0.5])

    ordered = [quantity_to_order(D(stock), now, later, 0.95, D(2)) for stock in (3, 2, 1, 0, -3)]

    assert ordered == [0, 0, 2, 3, 4]


def test_nothing_expected_needs_nothing():
    found = demand([], NOBODY, window=14)

    assert (found.mean, found.quantile(0.99), found.chance_above(D(0))) == (0, 0, 0)
