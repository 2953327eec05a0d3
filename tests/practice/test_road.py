"""The odometer: what is not logged, what cannot be, and what a leg may say."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from billing.actions.invoicing import close_days
from billing.models import Invoice
from practice.actions.road import change_leg, log_leg, remove_leg, set_reading, set_readings
from practice.lib.errors import RuleBroken
from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.models import Leg, LegChange, Reading
from practice.reports.road_log import month_log
from practice.rules.odometer import Change, OdometerLeg, chain
from practice.rules.odometer import OdometerReading as Point
from tests.factories.practice import DAY, ProfileFactory, VehicleFactory, trim

D = Decimal
EVENING = datetime(2026, 10, 14, 19, 5, tzinfo=UTC)
NEXT_DAY = EVENING + timedelta(1)


def drive(entry, distance, start=None, end=None, day=DAY):
    return OdometerLeg(
        entry, day, entry, D(distance), None if start is None else D(start), None if end is None else D(end)
    )


def test_not_logged_is_what_no_leg_accounts_for():
    points = [Point("a", DAY, "start", D("100")), Point("b", DAY, "end", D("130.5"))]

    gaps, faults = chain(points, [drive(1, "10"), drive(2, "15.5")])

    assert ([gap.distance for gap in gaps], faults) == ([D("5.0")], [])


def test_it_belongs_to_the_day_of_the_later_point():
    points = [Point("a", DAY, "end", D("100")), Point("b", DAY + timedelta(3), "start", D("112"))]

    gaps, _ = chain(points, [drive(1, "9", day=DAY + timedelta(1))])

    assert [(gap.date, gap.distance) for gap in gaps] == [(DAY + timedelta(3), 3)]


def test_a_leg_without_readings_stands_after_the_one_entered_before_it():
    rows = [drive(1, "5", "100", "105"), drive(2, "7"), drive(3, "8", "112", "120")]

    assert chain([], rows) == ([], [])


def test_a_leg_that_starts_before_the_last_one_ended_is_a_fault():
    _, faults = chain([], [drive(1, "5", "100", "105"), drive(2, "5", "104", "109")])

    assert [(fault.key, fault.reading, fault.last) for fault in faults] == [(2, 104, 105)]


def test_a_jump_is_mended_by_a_leg_between_its_two_readings_on_the_later_day():
    points = [Point("a", DAY, "end", D("84021.3")), Point("b", DAY + timedelta(1), "start", D("84034.9"))]
    mend = drive(7, "13.6", "84021.3", "84034.9", day=DAY + timedelta(1))

    assert chain(points, [mend, drive(8, "4", day=DAY + timedelta(1))]) == ([], [])


def test_a_new_odometer_begins_where_it_says():
    """10 to the workshop on the old one, 12 home on the new one, 1.5 of it not written down."""
    points = [Point("a", DAY, "start", D("84198")), Point("b", DAY, "end", D("12"))]
    change = Change("c", DAY, D("84208"), D("0"))
    legs = [drive(1, "10", "84198", "84208"), drive(2, "10.5", "0", "10.5")]

    gaps, faults = chain(points, legs, [change])

    assert ([(gap.begin, gap.end) for gap in gaps], faults) == ([(D("10.5"), D("12"))], [])


def test_legs_without_readings_stand_on_the_old_odometer_as_long_as_they_fit():
    points = [Point("a", DAY, "start", D("84198")), Point("b", DAY, "end", D("12"))]
    legs = [drive(1, "6"), drive(2, "4"), drive(3, "12")]

    assert chain(points, legs, [Change("c", DAY, D("84208"), D("0"))]) == ([], [])


def test_what_the_old_odometer_did_not_see_is_a_fault_of_the_change():
    points = [Point("a", DAY - timedelta(1), "end", D("84198"))]

    _, faults = chain(points, [], [Change("c", DAY, D("84190"), D("0"))])

    assert [(fault.key, fault.reading, fault.last) for fault in faults] == [("c", 84190, 84198)]


@pytest.mark.django_db
def test_a_reading_lower_than_the_last_is_refused_with_the_last_one():
    truck = VehicleFactory()
    set_reading(truck, DAY, "start", D("84198.0"))

    with pytest.raises(RuleBroken) as error:
        set_reading(truck, DAY, "end", D("84190.0"))

    assert str(error.value) == (
        "84,190.0 on October 14 is lower than the last reading, 84,198.0 on October 14."
    )
    assert Reading.objects.get().reading == 84198


@pytest.mark.django_db
def test_a_leg_is_as_long_as_its_readings_say():
    leg = log_leg(VehicleFactory(), DAY, purpose="personal", start_odometer=D("10.0"), end_odometer=D("22.4"))

    assert leg.distance == D("12.4")


@pytest.mark.django_db
@pytest.mark.parametrize(
    "leg",
    [
        {"purpose": "personal"},
        {"purpose": "business", "distance": D(3)},
        {"purpose": "personal", "distance": D("3.25")},
        {"purpose": "personal", "distance": D(3), "start_odometer": D(1), "end_odometer": D(5)},
        {"purpose": "personal", "start_odometer": D(5), "end_odometer": D(1)},
    ],
)
def test_a_leg_that_cannot_be_is_refused(leg):
    with pytest.raises(RuleBroken):
        log_leg(VehicleFactory(), DAY, **leg)

    assert Leg.objects.count() == 0


@pytest.mark.django_db
def test_saving_a_leg_twice_gives_one_row():
    truck, key = VehicleFactory(), "0d7cd0b5-8a42-4d53-9a7e-0f2b0d4f7f11"

    rows = [log_leg(truck, DAY, purpose="personal", distance=D(3), uuid=key) for _ in range(2)]

    assert rows[0] == rows[1] and Leg.objects.count() == 1


@pytest.mark.django_db
def test_a_leg_of_an_invoiced_visit_stays_correctable_and_changes_no_charge():
    ProfileFactory(travel_rule="per_distance", travel_rate=D("0.85"))
    visit = trim().visit
    leg = log_leg(VehicleFactory(), DAY, purpose="business", distance=D(10), visit=visit)
    close_days(DAY, DAY, DAY)

    change_leg(leg, {"distance": D(9)}, written=NEXT_DAY)

    assert (Leg.objects.get().distance, Invoice.objects.get().total) == (9, D("58.50"))


def said(leg) -> list:
    rows = LegChange.objects.filter(leg=leg.uuid).order_by("pk")
    return [(row.what, row.distance, row.purpose, row.reason, row.at) for row in rows]


@pytest.mark.django_db
def test_what_a_leg_said_before_is_kept():
    leg = log_leg(VehicleFactory(), DAY, purpose="personal", distance=D("12.4"), written=EVENING)

    change_leg(leg, {"purpose": "business", "reason": "supplier"}, written=NEXT_DAY)
    remove_leg(Leg.objects.get(), written=NEXT_DAY)

    assert said(leg) == [
        ("changed", D("12.4"), "personal", "", NEXT_DAY),
        ("removed", D("12.4"), "business", "supplier", NEXT_DAY),
    ]


@pytest.mark.django_db
def test_a_leg_changed_into_what_it_is_has_no_history():
    leg = log_leg(VehicleFactory(), DAY, purpose="personal", distance=D("12.4"), written=EVENING)

    change_leg(leg, {"distance": D("12.4"), "purpose": "personal"}, written=NEXT_DAY)

    assert (said(leg), Leg.objects.get().changed_at) == ([], None)


@pytest.mark.django_db
@pytest.mark.parametrize(
    "change", [lambda rows: rows.update(reason="other"), lambda rows: rows._raw_delete(rows.db)]
)
def test_history_is_neither_changed_nor_deleted(change):
    leg = log_leg(VehicleFactory(), DAY, purpose="personal", distance=D(3))
    remove_leg(leg, written=NEXT_DAY)

    with pytest.raises(IntegrityError), transaction.atomic():
        change(LegChange.objects.all())

    assert LegChange.objects.get().reason == ""


@pytest.mark.django_db
def test_a_reading_knows_when_it_was_made_and_changed():
    truck = VehicleFactory()
    set_reading(truck, DAY, "start", D(10), EVENING)
    set_reading(truck, DAY, "start", D(10), NEXT_DAY)
    same = Reading.objects.get()
    set_reading(truck, DAY, "start", D(11), NEXT_DAY)

    now = Reading.objects.get()
    assert (same.recorded_at, same.changed_at) == (EVENING, None)
    assert (now.reading, now.recorded_at, now.changed_at) == (11, EVENING, NEXT_DAY)


@pytest.mark.django_db
def test_both_readings_of_a_day_are_mended_at_once():
    truck = VehicleFactory()
    set_readings(truck, DAY, {"start": D(100), "end": D(120)})

    set_readings(truck, DAY, {"start": D(1100), "end": D(1120)})

    assert [row.reading for row in Reading.objects.order_by("at")] == [1120, 1100]


@pytest.mark.django_db
@pytest.mark.parametrize("purpose", ["business", "personal"])
def test_where_home_is_not_the_principal_place_a_drive_from_it_is_commuting_or_has_a_reason(purpose):
    """Rev. Rul. 99-7."""
    ProfileFactory(home_is_principal_place_of_business=False)
    truck, visit = VehicleFactory(), trim().visit
    leg = {"distance": D(5), "origin": "Home", "destination": "Barn", "visit": visit}

    with pytest.raises(RuleBroken, match=r"Rev\. Rul\. 99-7"):
        log_leg(truck, DAY, purpose=purpose, **leg)
    log_leg(truck, DAY, purpose="commuting", **leg)
    log_leg(truck, DAY, purpose=purpose, reason="temporary place of work", **leg)

    assert sorted(Leg.objects.values_list("purpose", flat=True)) == sorted(["commuting", purpose])


@pytest.mark.django_db
def test_the_law_is_cited_only_in_its_own_country():
    ProfileFactory(country="GB", home_is_principal_place_of_business=False)

    with pytest.raises(RuleBroken, match="count as commuting unless you give a reason why not. A licensed"):
        log_leg(VehicleFactory(), DAY, purpose="personal", distance=D(5), origin="Home")


@pytest.mark.django_db
def test_where_home_is_not_the_principal_place_the_first_drive_of_a_day_needs_a_reason():
    ProfileFactory(home_is_principal_place_of_business=False)
    truck, visit = VehicleFactory(), trim().visit
    leg = {"purpose": "business", "distance": D(5), "visit": visit}

    with pytest.raises(RuleBroken, match="the first and the last drive of a day"):
        log_leg(truck, DAY, origin="Shop", destination="Barn", **leg)
    log_leg(truck, DAY, origin="Shop", destination="Barn", reason="from the shop", **leg)
    last = log_leg(truck, DAY, origin="Barn", destination="Yard", **leg)

    # Another drive may follow: the log tells of it, and nothing is refused.
    month = Period(DAY.replace(day=1), DAY.replace(day=31))
    issues = month_log(truck, month, Profile.current()).issues
    assert [(row.kind, row.url) for row in issues] == [("no_reason", last.get_absolute_url())]
