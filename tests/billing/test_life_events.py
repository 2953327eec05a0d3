"""What becomes of a horse on a day: owners, status, place, payers and planned stops follow."""

from datetime import UTC, datetime, time, timedelta
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from billing.actions.horse_changes import HorseChange, Kind, Recording
from billing.actions.invoicing import close_days
from billing.actions.life_events import record_change, record_elsewhere, undo_life_event
from billing.models import BillTo
from practice.lib.errors import RuleBroken
from practice.models import Horse, LifeEvent, Owner, Visit
from practice.reports.due import due_horses
from practice.reports.planned_stops import CANCEL, KEEP, OFF
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
)

pytestmark = pytest.mark.django_db
D = Decimal
ONE = timedelta(days=1)
WEEK = timedelta(weeks=1)
NOON = datetime.combine(DAY, time(12), UTC)
TODAY = Recording("farrier", NOON, DAY)


@pytest.fixture(autouse=True)
def practice():
    return ProfileFactory()


def juniper(*shares, **more):
    """A horse of Ann and Ben: their shares, and from when they own them. Without shares it is Ann's."""
    horse = HorseFactory(name="Juniper", **more)
    for name, (share, since) in zip(("Ann", "Ben"), shares or [(100, None)], strict=False):
        OwnerFactory(horse=horse, client=ClientFactory(name=name), share=D(share), valid_from=since)
    return horse


def owners_of(horse):
    """Owners with their shares, from and to when, in order of entry."""
    rows = horse.owners.select_related("client").order_by("pk")
    return [(row.client.name, row.share, row.valid_from, row.valid_to) for row in rows]


def state():
    """All rows that an event may touch, as plain values."""
    models = (Horse, Owner, BillTo, Visit, LifeEvent)
    return [list(model.objects.order_by("pk").values_list()) for model in models]


def refused(horse, change, recording=TODAY):
    """Return the code by which it is refused, and hold that nothing changed."""
    before = state()
    with pytest.raises(RuleBroken) as error:
        record_change(horse, change, recording)
    assert state() == before
    return error.value.code


def test_a_buyer_owns_the_horse_from_the_day_of_the_sale():
    horse, cara = juniper(next_call=DAY + WEEK), ClientFactory(name="Cara")

    record_change(horse, HorseChange(Kind.SOLD, DAY, buyer=cara), TODAY)

    horse.refresh_from_db()
    assert owners_of(horse) == [("Ann", 100, None, DAY - ONE), ("Cara", 100, DAY, None)]
    assert (horse.status, horse.next_call) == ("active", None)


@pytest.mark.parametrize(("before", "after"), [("sold", "active"), ("away", "away"), ("retired", "retired")])
def test_a_client_who_buys_a_horse_that_was_sold_makes_it_active_again(before, after):
    horse = juniper(status=before)

    record_change(horse, HorseChange(Kind.SOLD, DAY, buyer=ClientFactory()), TODAY)

    horse.refresh_from_db()
    assert horse.status == after


def test_an_owner_sells_the_own_share_alone():
    horse, cara = juniper((60, None), (40, None), next_call=DAY + WEEK), ClientFactory(name="Cara")
    ben = horse.owners.get(client__name="Ben").client

    record_change(horse, HorseChange(Kind.SOLD, DAY, buyer=cara, seller=ben), TODAY)

    horse.refresh_from_db()
    ended = [("Ann", 60, None, DAY - ONE), ("Ben", 40, None, DAY - ONE)]
    assert owners_of(horse) == [*ended, ("Ann", 60, DAY, None), ("Cara", 40, DAY, None)]
    assert horse.next_call == DAY + WEEK


@pytest.mark.parametrize(
    ("kind", "status"),
    [(Kind.SOLD, "sold"), (Kind.DIED, "died"), (Kind.RETIRED, "retired"), (Kind.AWAY, "away")],
)
def test_a_horse_that_is_gone_is_no_longer_due_and_its_owners_pay_for_its_last_day(kind, status):
    horse = juniper(next_call=DAY + WEEK)

    record_change(horse, HorseChange(kind, DAY), TODAY)

    horse.refresh_from_db()
    last = DAY if kind in (Kind.SOLD, Kind.DIED) else None
    assert (horse.status, horse.next_call, owners_of(horse)) == (status, None, [("Ann", 100, None, last)])
    assert due_horses() == []


def test_a_horse_that_moves_keeps_its_owners_and_its_next_visit():
    horse, barn = juniper(next_call=DAY + WEEK), PlaceFactory()

    record_change(horse, HorseChange(Kind.MOVED, DAY, place=barn), TODAY)

    horse.refresh_from_db()
    assert (horse.place, horse.next_call, owners_of(horse)) == (
        barn,
        DAY + WEEK,
        [("Ann", 100, None, None)],
    )


def payer(horse, since=None, until=None):
    return BillTo.objects.create(
        horse=horse, client=ClientFactory(name="Tess"), valid_from=since, valid_to=until
    )


@pytest.mark.parametrize(
    ("keeps", "since", "until", "expected"),
    [
        (False, None, None, [(None, DAY - ONE)]),
        (False, None, DAY - WEEK, [(None, DAY - WEEK)]),
        (False, DAY, None, []),
        (False, DAY + WEEK, None, []),
        (True, None, None, [(None, None)]),
    ],
)
def test_who_pays_instead_of_the_owners_ends_with_them_unless_said_otherwise(keeps, since, until, expected):
    horse = juniper()
    payer(horse, since, until)

    record_change(horse, HorseChange(Kind.SOLD, DAY, buyer=ClientFactory(), keeps_payers=keeps), TODAY)

    assert list(BillTo.objects.values_list("valid_from", "valid_to")) == expected


def planned(horse, *others, on=DAY + WEEK):
    """A planned stop that names these horses."""
    visit = VisitFactory(place=horse.place, date=on)
    for each in (horse, *others):
        WorkFactory(visit=visit, horse=each)
    return visit


@pytest.mark.parametrize(
    ("answer", "status", "named"),
    [(KEEP, "planned", 2), (CANCEL, "cancelled", 2), (OFF, "planned", 1)],
)
def test_a_planned_stop_that_names_the_horse_is_kept_canceled_or_without_it(answer, status, named):
    horse = juniper()
    visit = planned(horse, HorseFactory())

    record_change(horse, HorseChange(Kind.RETIRED, DAY, stops={visit.pk: answer}), TODAY)

    visit.refresh_from_db()
    assert (visit.status, visit.work.count()) == (status, named)


def test_a_stop_that_names_a_horse_which_died_is_not_kept_as_it_is():
    horse = juniper()
    visit = planned(horse)

    assert refused(horse, HorseChange(Kind.DIED, DAY, stops={visit.pk: KEEP})) == "stop_names_it"


def test_a_planned_stop_is_asked_about_whether_it_names_the_horse_or_stands_for_it():
    horse = juniper(next_call=DAY + WEEK)
    VisitFactory(place=horse.place, date=DAY + WEEK)

    assert refused(horse, HorseChange(Kind.DIED, DAY)) == "stop_to_answer"


def test_what_names_or_stands_for_other_horses_is_not_asked_about():
    horse = juniper()
    other = HorseFactory(place=horse.place, next_call=DAY + WEEK)
    VisitFactory(place=horse.place, date=DAY + WEEK)
    planned(other, on=DAY + 8 * WEEK)

    record_change(horse, HorseChange(Kind.DIED, DAY), TODAY)

    assert list(Visit.objects.values_list("status", flat=True)) == ["planned", "planned"]


def trimmed(horse, on, invoiced=False):
    WorkFactory(horse=horse, visit=VisitFactory(place=horse.place, date=on, status="done"))
    if invoiced:
        close_days(on, on, DAY)


@pytest.mark.parametrize("kind", [Kind.SOLD, Kind.DIED, Kind.RETIRED, Kind.AWAY])
def test_a_horse_is_not_gone_before_it_was_last_done(kind):
    horse = juniper()
    trimmed(horse, DAY - ONE)

    assert refused(horse, HorseChange(kind, DAY - 2 * ONE)) == "done_since"
    assert record_change(horse, HorseChange(kind, DAY - ONE), TODAY).date == DAY - ONE


def test_a_sale_is_not_dated_before_what_is_invoiced_but_may_be_before_what_is_not():
    horse, cara = juniper(), ClientFactory()
    trimmed(horse, DAY - 3 * ONE, invoiced=True)
    trimmed(horse, DAY - ONE)

    assert refused(horse, HorseChange(Kind.SOLD, DAY - 3 * ONE, buyer=cara)) == "invoiced_since"
    record_change(horse, HorseChange(Kind.SOLD, DAY - 2 * ONE, buyer=cara), TODAY)

    [draft] = close_days(DAY - ONE, DAY - ONE, DAY).invoices
    assert draft.client == cara


def test_nothing_becomes_of_a_horse_on_a_closed_day(practice):
    horse = juniper()
    practice.closed_through = DAY - ONE
    practice.save()

    assert refused(horse, HorseChange(Kind.DIED, DAY - ONE)) == "day_closed"


@pytest.mark.parametrize(
    ("ready", "code"),
    [
        (lambda h: HorseChange(Kind.MOVED, DAY, place=h.place), "same_place"),
        (lambda h: HorseChange(Kind.SOLD, DAY, buyer=h.owners.get().client), "owns_it_already"),
        (lambda h: HorseChange(Kind.SOLD, DAY, seller=h.owners.get().client), "share_needs_client"),
        (
            lambda h: HorseChange(Kind.SOLD, DAY, seller=ClientFactory(), buyer=ClientFactory()),
            "not_an_owner",
        ),
    ],
)
def test_what_cannot_be_is_refused(ready, code):
    horse = juniper()

    assert refused(horse, ready(horse)) == code


@pytest.mark.parametrize(
    ("status", "kind", "code"),
    [
        ("died", Kind.RETIRED, "horse_died"),
        ("retired", Kind.RETIRED, "already_so"),
        ("sold", Kind.SOLD, "already_so"),
    ],
)
def test_what_the_book_says_already_is_refused(status, kind, code):
    assert refused(juniper(status=status), HorseChange(kind, DAY)) == code


def test_a_sale_before_the_owners_change_again_is_refused():
    horse = juniper((100, DAY - ONE))

    assert refused(horse, HorseChange(Kind.SOLD, DAY - WEEK, buyer=ClientFactory())) == "owners_change_later"


CHANGES = [
    lambda visits: HorseChange(Kind.SOLD, DAY, buyer=ClientFactory(), place=PlaceFactory(), stops=visits),
    lambda visits: HorseChange(Kind.SOLD, DAY, stops=visits),
    lambda visits: HorseChange(Kind.DIED, DAY, stops=visits),
    lambda visits: HorseChange(Kind.MOVED, DAY, place=PlaceFactory(), stops=visits),
]


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("answer", [CANCEL, OFF])
def test_all_that_followed_is_undone_on_the_same_day(change, answer):
    horse = juniper((60, None), (40, None), next_call=DAY + 2 * WEEK)
    payer(horse)
    visit = planned(horse)
    wanted = change({visit.pk: answer})
    before, work = state(), list(visit.work.order_by("pk").values_list())

    event = record_change(horse, wanted, TODAY)
    undo_life_event(event, DAY)

    assert (state(), list(visit.work.order_by("pk").values_list())) == (before, work)


def undo_refused(event, today=DAY):
    before = state()
    with pytest.raises(RuleBroken) as error:
        undo_life_event(event, today)
    assert state() == before
    return error.value.code


def test_what_was_changed_or_invoiced_since_or_is_of_another_day_is_not_undone():
    horse, cara = juniper(), ClientFactory()
    trimmed(horse, DAY)
    event = record_change(horse, HorseChange(Kind.SOLD, DAY, buyer=cara), TODAY)

    assert undo_refused(event, DAY + ONE) == "event_too_old"
    close_days(DAY, DAY, DAY)
    assert undo_refused(event) == "invoiced_since"
    Horse.objects.update(cycle_weeks=8)
    assert undo_refused(event) == "changed_since"


def test_a_horse_done_by_someone_else_is_due_a_cycle_later_and_that_is_undone():
    horse = HorseFactory()
    trimmed(horse, DAY - 20 * WEEK)

    event = record_elsewhere(horse, DAY - WEEK, "", TODAY)

    [row] = due_horses()
    assert (row.last, row.due, row.is_elsewhere) == (DAY - WEEK, DAY + 5 * WEEK, True)
    undo_life_event(event, DAY)
    [row] = due_horses()
    assert (row.last, row.due, row.is_elsewhere) == (DAY - 20 * WEEK, DAY - 14 * WEEK, False)


def test_own_work_after_someone_elses_counts_again_and_none_is_recorded_before_it():
    horse = HorseFactory()
    record_elsewhere(horse, DAY - 8 * WEEK, "", TODAY)
    trimmed(horse, DAY - WEEK)

    [row] = due_horses()

    assert (row.last, row.is_elsewhere) == (DAY - WEEK, False)
    with pytest.raises(RuleBroken, match="yourself"):
        record_elsewhere(horse, DAY - WEEK, "", TODAY)


SALES = st.lists(
    st.tuples(st.integers(0, 30), st.integers(0, 3), st.sampled_from([None, 0, 1])), min_size=1, max_size=6
)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(SALES)
def test_after_any_sales_the_shares_add_up_to_100_on_every_day(sales):
    horse = HorseFactory()
    buyers = [ClientFactory() for _ in range(4)]
    OwnerFactory(horse=horse, client=buyers[0], share=D(60))
    OwnerFactory(horse=horse, client=buyers[1], share=D(40))
    done = []

    for days, buyer, seller in sales:
        on = DAY - timedelta(days=days)
        owners = list(horse.owners.on(on).select_related("client"))
        sold_by = None if seller is None or len(owners) < 2 else owners[seller].client
        try:
            record_change(horse, HorseChange(Kind.SOLD, on, buyer=buyers[buyer], seller=sold_by), TODAY)
            done.append((on, buyers[buyer]))
        except RuleBroken:
            pass

    for days in range(-40, 3):
        on = DAY + timedelta(days=days)
        assert sum(row.share for row in horse.owners.on(on)) == 100
    assert all(horse.owners.on(on).filter(client=buyer).exists() for on, buyer in done[-1:])
