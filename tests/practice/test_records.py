"""What the pages of horses, clients and places say."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from practice.lib.profile import Profile
from practice.models import Horse
from practice.reports.due import due_list
from practice.reports.records import client_record, horse_record, place_record
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
    trim,
)
from tests.factories.stock import ItemFactory, receipt
from tests.practice.test_expected_use import WEEK, done

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("weeks_ago", "answer"),
    [
        (None, "Juno: new, no shoeing yet."),
        (7, "Juno: 7 days overdue."),
        (6, "Juno: due Wed, Oct 14."),
        (5, "Juno: due Wed, Oct 21."),
    ],
)
def test_the_page_of_a_horse_says_when_it_is_due(weeks_ago, answer):
    horse = HorseFactory(name="Juno", cycle_weeks=6)
    if weeks_ago:
        done(horse, DAY - weeks_ago * WEEK)

    assert horse_record(horse, DAY, Profile()).answer == answer


def test_past_work_is_told_with_its_materials_and_their_cost():
    shoe = ItemFactory(name="Plain front")
    receipt(shoe, "10", on=DAY - 10 * WEEK)
    horse = HorseFactory(place=PlaceFactory(name="Ridge Barn"))
    done(horse, DAY - WEEK, (shoe, 4))

    record = horse_record(horse, DAY, Profile())

    [row] = record.history.rows
    assert (row.more, row.fact) == ("Ridge Barn. 4 × Plain front.", "Oct 7, 2026")
    assert record.cost_of_year == sum(record.history.costs.values()) > 0


def test_an_owner_is_told_with_share_and_days():
    horse = HorseFactory()
    OwnerFactory(horse=horse, client=ClientFactory(name="Ann"), share=Decimal(40), valid_from=DAY)

    [row] = horse_record(horse, DAY, Profile()).owners

    assert (row.name, row.more, row.fact) == ("Ann", "From Oct 14, 2026", "40%")


def test_the_page_of_a_place_counts_its_horses_and_those_overdue():
    place = PlaceFactory(name="Ridge Barn")
    done(HorseFactory(place=place, cycle_weeks=6), DAY - 7 * WEEK)
    HorseFactory(place=place)
    HorseFactory(place=place, status="retired")
    VisitFactory(place=place, date=DAY + timedelta(5))

    record = place_record(place, DAY, Profile())

    assert record.answer == "Ridge Barn: 2 horses, 1 overdue."
    assert [(row.name, row.note) for row in record.visits] == [
        ("Mon, Oct 19", "planned"),
        ("Wed, Aug 26", "done"),
    ]


def test_the_page_of_a_client_has_the_horses_of_that_day():
    client = ClientFactory()
    sold = OwnerFactory(client=client, valid_to=DAY - timedelta(1))
    owned = OwnerFactory(client=client, horse=HorseFactory(name="Juno"))

    record = client_record(client, DAY, Profile())

    assert [row.horse for row in record.horses] == [owned.horse] != [sold.horse]


def test_a_client_is_reached_by_what_a_phone_opens():
    client = ClientFactory(phone="+1 (555) 0100", email="ann o@mail.example", address="3 Elm Road\nQuillby")

    assert client_record(client, DAY, Profile()).reached == [
        ("Phone", "+1 (555) 0100", "tel:+15550100"),
        ("Email", "ann o@mail.example", "mailto:ann%20o@mail.example"),
        ("Address", "3 Elm Road\nQuillby", "geo:0,0?q=3%20Elm%20Road%20Quillby"),
    ]
    assert client_record(ClientFactory(), DAY, Profile()).reached == []


def test_the_page_of_a_place_says_how_to_get_in():
    place = PlaceFactory(
        address="1 Fen Lane", latitude=Decimal("41.25"), longitude=Decimal("-93.4"), gate_code="4711#"
    )
    on_the_map = PlaceFactory(phone="555-0170", latitude=Decimal(41), longitude=Decimal(-93))

    assert place_record(place, DAY, Profile()).reached == [
        ("Address", "1 Fen Lane", "geo:41.25,-93.4"),
        ("Gate code", "4711#", ""),
    ]
    assert place_record(on_the_map, DAY, Profile()).reached == [
        ("Address", "On the map", "geo:41,-93"),
        ("Phone", "555-0170", "tel:5550170"),
    ]


def test_all_visits_to_a_place_are_listed_with_their_horses_in_as_many_queries_for_more(browser):
    place, horses = PlaceFactory(), [HorseFactory(name=name) for name in ("Ash", "Bay", "Cob", "Dun", "Elk")]
    address, counts, rows = reverse("practice:place-visits", args=[place.pk]), [], []
    for weeks in (1, 2, 3):
        visit = VisitFactory(place=place, date=DAY - weeks * WEEK, status="done")
        for horse in horses[: 2 * weeks - 1]:
            WorkFactory(visit=visit, horse=horse)
        if weeks == 2:
            continue
        browser.get(address)
        with CaptureQueriesContext(connection) as queries:
            table = browser.get(address).context["table"]
        counts.append(len(queries))
        rows = [row.more for _, group in table.groups() for row in group]

    assert counts[0] == counts[1]
    assert rows == ["Ash", "Ash, Bay, and Cob", "Ash, Bay, Cob, Dun, and 1 more"]


def test_the_page_of_a_place_leads_to_all_its_visits(browser):
    place = PlaceFactory()
    for weeks in range(13):
        VisitFactory(place=place, date=DAY - weeks * WEEK, status="done")

    page = browser.get(place.get_absolute_url()).content.decode()

    assert "All 13 visits" in page


def test_the_due_page_counts_in_words():
    answers = [due_list(DAY).answer]
    for weeks_ago in (5, 7, 8):
        done(HorseFactory(cycle_weeks=6), DAY - weeks_ago * WEEK)
        answers.append(due_list(DAY).answer)

    assert answers == [
        "Nobody is due in the next two weeks.",
        "Nobody is overdue. These horses come next.",
        "1 horse is overdue.",
        "2 horses are overdue.",
    ]


def test_what_was_searched_for_fills_in_the_form(browser):
    for name in ("practice:horse-add", "practice:client-add", "practice:place-add"):
        form = browser.get(reverse(name), {"name": "Zorn"}).context["form"]

        assert form["name"].value() == "Zorn"


def test_archiving_is_undone_by_the_same_button(browser):
    client = ClientFactory(name="Ann")
    said = []

    for _ in range(2):
        answer = browser.post(reverse("practice:client-archive", args=[client.pk]), follow=True)
        said += [str(message) for message in answer.context["messages"]]

    client.refresh_from_db()
    assert (said, client.archived) == (["Ann is archived.", "Ann is restored from the archive."], False)


@pytest.mark.parametrize(
    ("status", "answer", "row"),
    [
        ("away", "Moss is away.", "Away"),
        ("retired", "Moss is retired.", "Retired"),
        ("sold", "Moss was sold.", "Sold"),
        ("died", "Moss died.", "Died"),
    ],
)
def test_a_horse_that_is_gone_is_not_said_to_be_due_and_no_visit_is_offered(browser, status, answer, row):
    ProfileFactory()
    horse = trim(ann := ClientFactory()).horse
    Horse.objects.update(name="Moss", status=status)

    page = browser.get(f"/horses/{horse.pk}/").content.decode()
    client = browser.get(f"/clients/{ann.pk}/").content.decode()

    assert f"<h1>{answer}</h1>" in page
    assert "Plan a visit" not in page
    assert f"<b>{row}</b>" in client
