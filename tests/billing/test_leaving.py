"""A client who leaves: each horse is asked about, what is owed stays, and the entry goes into the archive."""

from datetime import timedelta
from decimal import Decimal

import pytest

from billing.actions.horse_changes import Recording
from billing.actions.invoicing import close_days
from billing.actions.leaving import Fate, Leaving, client_leaves
from billing.actions.life_events import undo_life_event
from billing.models import BillTo, Invoice
from billing.reports.life_preview import preview_leaving
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Client, Horse, LifeEvent
from practice.reports.planned_stops import OFF
from tests.billing.test_life_events import owners_of, planned, state, trimmed
from tests.factories.mail import NOON
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    OwnerFactory,
    ProfileFactory,
    owned_horse,
)

pytestmark = pytest.mark.django_db
ONE, WEEK = timedelta(days=1), timedelta(weeks=1)
TODAY = Recording("farrier", NOON, DAY)


@pytest.fixture(autouse=True)
def practice():
    return ProfileFactory()


@pytest.fixture
def ann():
    return ClientFactory(name="Ann")


@pytest.mark.parametrize(
    ("fate", "status", "ends"),
    [
        (Fate.GOES, "away", None),
        (Fate.SOLD, "sold", DAY),
        (Fate.RETIRED, "retired", None),
        (Fate.DIED, "died", DAY),
    ],
)
def test_a_horse_goes_the_way_that_was_chosen_and_the_client_into_the_archive(ann, fate, status, ends):
    horse = owned_horse(ann)

    client_leaves(ann, Leaving(DAY, {horse.pk: fate}), TODAY)

    horse.refresh_from_db()
    ann.refresh_from_db()
    assert (horse.status, owners_of(horse), ann.archived) == (status, [("Ann", 100, None, ends)], True)


def test_another_client_takes_over_the_share_from_the_day_after(ann):
    horse, ben, cara = HorseFactory(), ClientFactory(name="Ben"), ClientFactory(name="Cara")
    OwnerFactory(horse=horse, client=ann, share=Decimal(60))
    OwnerFactory(horse=horse, client=ben, share=Decimal(40))

    client_leaves(ann, Leaving(DAY, {horse.pk: Fate.HANDED}, {horse.pk: cara}), TODAY)

    horse.refresh_from_db()
    assert horse.status == "active"
    assert owners_of(horse) == [
        ("Ann", 60, None, DAY),
        ("Ben", 40, None, DAY),
        ("Cara", 60, DAY + ONE, None),
        ("Ben", 40, DAY + ONE, None),
    ]


def test_a_planned_stop_loses_the_horses_that_leave_and_keeps_the_one_that_stays(ann):
    leaves, stays = owned_horse(ann), owned_horse(ann)
    visit = planned(leaves, stays)
    fates = {leaves.pk: Fate.GOES, stays.pk: Fate.HANDED}

    client_leaves(ann, Leaving(DAY, fates, {stays.pk: ClientFactory()}, {visit.pk: OFF}), TODAY)

    assert [work.horse for work in visit.work.all()] == [stays]


def test_the_client_pays_for_the_horses_of_others_no_longer(ann):
    payer = BillTo.objects.create(horse=owned_horse(), client=ann, valid_from=DAY - WEEK)

    client_leaves(ann, Leaving(DAY, {}), TODAY)

    payer.refresh_from_db()
    assert payer.valid_to == DAY


def test_what_is_owed_stays_and_is_shown_before(ann, practice):
    horse = owned_horse(ann, name="Juniper")
    trimmed(horse, DAY - WEEK, invoiced=True)
    trimmed(horse, DAY - ONE)
    practice.today = DAY
    before = state()

    words = preview_leaving(ann, Leaving(DAY, {horse.pk: Fate.GOES}), TODAY, practice)

    assert words == [
        "Ann still owes $50.00. That stays on the account.",
        "1 stop with the client's horses is not invoiced yet. Close the days first.",
        "Juniper is recorded as away, and no longer comes up as due.",
        "Ann goes into the archive, with the whole history.",
    ]
    assert state() == before
    client_leaves(ann, Leaving(DAY, {horse.pk: Fate.GOES}), TODAY)
    assert Invoice.objects.with_settled().get().open == 50
    assert len(close_days(DAY - ONE, DAY - ONE, DAY).invoices) == 1


def archived(ann, horse):
    Client.objects.filter(pk=ann.pk).update(archived=True)


def billed_after(ann, horse):
    trimmed(horse, DAY, invoiced=True)


def closed(ann, horse):
    Profile.objects.update(closed_through=DAY)


@pytest.mark.parametrize(
    ("ready", "fate", "on", "code"),
    [
        (lambda *_: None, None, DAY, "horse_to_answer"),
        (lambda *_: None, Fate.HANDED, DAY, "needs_a_buyer"),
        (archived, Fate.GOES, DAY, "already_archived"),
        (billed_after, Fate.GOES, DAY - ONE, "billed_later"),
        (closed, Fate.GOES, DAY, "day_closed"),
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(ann, ready, fate, on, code):
    horse = owned_horse(ann)
    ready(ann, horse)
    before = state()

    with pytest.raises(RuleBroken) as error:
        client_leaves(ann, Leaving(on, {horse.pk: fate} if fate else {}), TODAY)

    assert (error.value.code, state()) == (code, before)


def test_a_client_who_left_today_is_brought_back_with_all_horses(ann):
    horses = [owned_horse(ann), owned_horse(ann)]
    visit = planned(*horses)
    BillTo.objects.create(horse=owned_horse(), client=ann)
    fates = {horses[0].pk: Fate.DIED, horses[1].pk: Fate.HANDED}
    before = [
        state(),
        list(visit.work.order_by("pk").values_list()),
        list(Client.objects.order_by("pk").values_list()),
    ]

    wanted = Leaving(DAY, fates, {horses[1].pk: Client.objects.last()}, {visit.pk: OFF})
    event = client_leaves(ann, wanted, TODAY)
    assert LifeEvent.objects.count() == 3
    undo_life_event(event, DAY)

    assert [
        state(),
        list(visit.work.order_by("pk").values_list()),
        list(Client.objects.order_by("pk").values_list()),
    ] == before
    assert Horse.objects.active().count() == 3
