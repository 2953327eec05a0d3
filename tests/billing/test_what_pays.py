"""What an hour and a mile bring in."""

from dataclasses import replace
from datetime import time, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from billing.actions.invoicing import close_days
from billing.reports.what_pays import EarningsRow, WhatPays, nets_of, what_paid
from billing.reports.what_pays_page import WhatPaysPage
from billing.rules.paying import PLACE, Earnings, HorseEarnings, VisitEarnings, what_pays
from practice.actions.road import log_leg
from practice.actions.visits import complete_visit
from practice.lib.periods import tax_year
from practice.lib.profile import Profile
from practice.lib.ranking import Ranking
from practice.models import Owner
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    MaterialUseFactory,
    OwnerFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
    trim,
)
from tests.factories.stock import ItemFactory, receipt

D, F = Decimal, Fraction


def plain(found: Earnings):
    return found.income, found.materials, found.distance, found.minutes, found.visits


def test_a_stop_is_shared_among_what_it_was_for():
    stop = VisitEarnings(
        "v",
        "barn",
        (
            HorseEarnings("Bramble", {"ann": F(60), "bo": F(20)}, {"reset": F(40), "pads": F(20)}, F(8)),
            HorseEarnings("Clover", {"bo": F(50)}, {"trim": F(30)}),
        ),
        distance=F(24),
        clock=F(120),
    )

    found = what_pays([stop])

    assert {view: {key: plain(s) for key, s in sums.items()} for view, sums in found.items()} == {
        "visit": {"v": (130, 8, 24, 120, {"v"})},
        "place": {"barn": (130, 8, 24, 120, {"v"})},
        "horse": {"Bramble": (80, 8, 12, 80, {"v"}), "Clover": (50, 0, 12, 40, {"v"})},
        "client": {"ann": (60, 6, 9, 60, {"v"}), "bo": (70, 2, 15, 60, {"v"})},
        "service": {
            "reset": (F(160, 3), F(16, 3), 8, F(160, 3), {"v"}),
            "pads": (F(80, 3), F(8, 3), 4, F(80, 3), {"v"}),
            "trim": (50, 0, 12, 40, {"v"}),
        },
    }
    assert found["horse"]["Bramble"].left(F(1, 2)) == 66
    assert found["horse"]["Bramble"].an_hour(F(1, 2)) == F(99, 2)
    assert found["horse"]["Bramble"].a_distance() == 6


amounts = st.fractions(0, 500, max_denominator=100)
served = st.builds(
    HorseEarnings,
    st.sampled_from("abcd"),
    st.dictionaries(st.sampled_from("xyz"), amounts, min_size=1),
    st.dictionaries(st.sampled_from("stu"), amounts, min_size=1),
    amounts,
)
stops = st.builds(
    VisitEarnings,
    st.integers(0, 5),
    st.sampled_from("pq"),
    st.lists(served, min_size=1, max_size=4, unique_by=lambda row: row.horse).map(tuple),
    amounts,
    st.none() | amounts,
)


@given(st.lists(stops, max_size=5))
def test_each_view_adds_up_to_the_same_whole(stops):
    wholes = [
        tuple(
            sum(getattr(s, name) for s in sums.values())
            for name in ("income", "materials", "distance", "minutes")
        )
        for sums in what_pays(stops).values()
    ]

    assert wholes == wholes[:1] * len(wholes)


@pytest.mark.django_db
def test_a_year_says_what_an_hour_earns_and_which_stops_lost_money(browser, settings):
    settings.TODAY = DAY
    profile = ProfileFactory(country="US", mileage_scheme="us_standard")
    truck, fronts = VehicleFactory(), ServiceFactory(name="Fronts", minutes=60)
    shoe = ItemFactory()
    receipt(shoe, "10", "4", on=DAY - timedelta(days=200))
    client, far = ClientFactory(name="Petra Quill"), ClientFactory(name="Far Away")
    for owner, price, miles, on in ((client, "180", "10", 100), (far, "20", "60", 50)):
        horse = HorseFactory()
        OwnerFactory(horse=horse, client=owner)
        visit = VisitFactory(
            place=horse.place, date=DAY - timedelta(days=on), arrive=time(9), leave=time(10, 30)
        )
        WorkFactory(visit=visit, horse=horse, service=fronts, price=D(price))
        MaterialUseFactory(visit=visit, horse=horse, item=shoe, quantity=D(2))
        log_leg(truck, visit.date, purpose="business", distance=D(miles), visit=visit)
        complete_visit(visit)
        if owner == client:
            close_days(visit.date, visit.date, DAY)
    assert Owner.objects.count() == 2

    found = what_paid(tax_year(DAY.year, "US"), profile)

    # 2026 in the first half 0.725, from July 0.76 (IRS): ten miles on July 6, sixty on August 25.
    assert (found.per_distance, found.by) == (D("0.76"), "the standard rate")
    assert [
        (str(row.thing), row.income, row.materials, row.left, row.an_hour) for row in found.views["client"]
    ] == [
        ("Petra Quill", 180, 8, D("164.40"), D("109.60")),
        ("Far Away", 20, 8, D("-33.60"), D("-22.40")),
    ]
    assert [(row.distance, row.left) for row in found.losing] == [(60, D("-33.60"))]
    page = " ".join(
        browser.get(reverse("billing:what-pays", args=[DAY.year]) + "?by=client").content.decode().split()
    )
    assert "You earned $43.60 an hour, after materials and driving." in page
    assert "Stops that lost money" in page


def earned(left: str, **more) -> EarningsRow:
    """A row of earnings, of which only what is left and `more` matter."""
    row = EarningsRow("Old Kiln", 1, D(100), D(20), D(0), 0, D(left), None, None)
    return replace(row, **more)


def test_the_page_says_what_is_left_where_no_time_and_no_drive_is_known():
    report = WhatPays(tax_year(2026, "US"), D(0), "", {}, [earned("-1")] * 21, earned("80"), held=2)

    page = WhatPaysPage(report, PLACE, Profile(name="Demo"))

    assert page.heading == "You earned $80.00, after materials and driving."
    assert page.lead == (
        "$100.00 for work, less $20.00 for materials. No business drive is logged."
        " 21 stops cost more than they brought in. 2 stops are held back and left out."
    )
    assert page.losing_heading == "Stops that lost money, the worst 20"


def ranked(*hourly: int) -> Ranking:
    rows = [earned("1", thing=f"Barn {at}", an_hour=D(value)) for at, value in enumerate(hourly, start=1)]
    report = WhatPays(tax_year(2026, "US"), D(0), "", {PLACE: rows}, [], earned("80"))
    return WhatPaysPage(report, PLACE, Profile(name="Demo")).ranking


def test_of_many_the_first_ten_and_the_last_five_are_drawn_apart():
    drawn = ranked(*range(200, 182, -1))

    assert [bar.words for bar in drawn.bars] == [
        f"{rank}. Barn {rank}" for rank in [*range(1, 11), *range(14, 19)]
    ]
    assert (drawn.between, drawn.description) == (
        "3 more in between",
        "From $200.00 to $183.00 an hour. The table below has each figure.",
    )
    steps = {after.y - before.y for before, after in pairwise(drawn.bars)}
    assert drawn.bars[10].y - drawn.bars[9].y == max(steps) > min(steps)
    assert drawn.bars[9].y < drawn.between_y < drawn.bars[10].words_y


def test_fifteen_are_drawn_without_a_gap():
    drawn = ranked(*range(200, 185, -1))

    assert (len(drawn.bars), drawn.between) == (15, "")


def test_a_bar_is_as_long_as_its_value_on_one_scale_from_zero():
    drawn = ranked(300, 150, -60)

    lengths = [bar.width for bar in drawn.bars]
    assert [round(length / lengths[0], 2) for length in lengths] == [1, D("0.5"), D("0.2")]
    assert [bar.below for bar in drawn.bars] == [False, False, True]
    assert drawn.bars[2].x + drawn.bars[2].width == pytest.approx(drawn.zero, abs=D("0.1"))
    assert (drawn.bars[0].x, drawn.bars[2].x) == (pytest.approx(drawn.zero, abs=D("0.1")), 0)


@pytest.mark.django_db
@pytest.mark.parametrize("year", [0, 99999])
def test_a_year_that_no_calendar_has_is_not_found(browser, year):
    assert browser.get(f"/what-pays/{year}/").status_code == 404


@pytest.mark.django_db
def test_a_clients_discount_lowers_what_its_horses_bring_in_billed_or_not(settings):
    settings.TODAY = DAY
    ProfileFactory(travel_rule="per_visit", travel_rate=D(20))
    client = ClientFactory(discount=D(10))
    first = trim(client, price="30").visit
    second = WorkFactory(visit=first, horse=owned_horse(client), price=D(50))
    before, _ = nets_of([first], Profile.current())

    close_days(DAY, DAY, DAY)
    first.refresh_from_db()
    after, _ = nets_of([first], Profile.current())

    assert {key[1]: net[client.pk] for key, net in before.items()} == {
        first.work.first().horse_id: 27 + 10,
        second.horse_id: 45 + 10,
    }
    assert after == before
