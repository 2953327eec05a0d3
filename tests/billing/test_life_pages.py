"""The pages on which something becomes of a horse or client: what follows is seen before it is saved."""

from datetime import timedelta

import pytest
from django.contrib.messages import get_messages
from django.db import connection
from django.test.utils import CaptureQueriesContext

from practice.models import Horse, LifeEvent
from tests.billing.test_life_events import owners_of, planned
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    owned_horse,
)

pytestmark = pytest.mark.django_db
ONE, WEEK = timedelta(days=1), timedelta(weeks=1)


@pytest.fixture(autouse=True)
def practice(settings):
    settings.TODAY = DAY
    return ProfileFactory()


def press_preview(browser, url, typed):
    """Send a form; return what follows, and what to send for it to be saved."""
    form = browser.post(url, typed).context["form"]
    assert not form.errors
    return form.consequences, typed | {"seen": form.data["seen"]}


def test_a_sale_is_seen_then_saved_then_undone(browser):
    horse, cara = owned_horse(ClientFactory(name="Ann"), name="Juniper"), ClientFactory(name="Cara")
    visit = planned(horse)
    url = f"/horses/{horse.pk}/sell/"

    typed = {"date": DAY, "buyer": cara.pk, f"stop_{visit.pk}": "keep", "note": "With halter"}
    words, seen = press_preview(browser, url, typed)
    assert LifeEvent.objects.count() == 0
    answer = browser.post(url, seen)

    page = browser.get(answer.url).content.decode()
    day = f"{visit.date:%a, %b} {visit.date.day}"
    assert words == [
        "From October 14 on, Juniper belongs to Cara.",
        f"The stop at {horse.place} on {day} stays as planned.",
    ]
    assert "Sold to Cara on Oct 14, 2026." in page and "With halter" in page
    assert owners_of(horse)[-1] == ("Cara", 100, DAY, None)

    undone = browser.post(f"/life-events/{LifeEvent.objects.get().pk}/undo/")

    assert undone.url == horse.get_absolute_url()
    assert owners_of(horse) == [("Ann", 100, None, None)]
    assert "Sold to Cara" not in browser.get(undone.url).content.decode()


def test_what_changed_since_it_was_seen_is_shown_again(browser):
    horse, other = owned_horse(), PlaceFactory()
    url, typed = f"/horses/{horse.pk}/move/", {"date": DAY, "place": other.pk, "note": ""}
    _, seen = press_preview(browser, url, typed)
    Horse.objects.update(next_call=DAY + WEEK)

    answer = browser.post(url, seen)

    assert (answer.status_code, LifeEvent.objects.count()) == (200, 0)
    assert "The next visit agreed, October 21, stays." in answer.context["form"].consequences


def test_a_stop_that_was_planned_since_has_to_be_answered(browser):
    horse = owned_horse()
    url, typed = f"/horses/{horse.pk}/retire/", {"date": DAY, "note": ""}
    _, seen = press_preview(browser, url, typed)
    visit = planned(horse)

    form = browser.post(url, seen).context["form"]

    assert list(form.errors) == [f"stop_{visit.pk}"]
    assert Horse.objects.get().status == "active"


def test_a_broken_rule_is_said_on_the_form(browser):
    horse = owned_horse()
    url = f"/horses/{horse.pk}/sell/"

    answer = browser.post(url, {"date": DAY, "buyer": horse.owners.get().client_id, "note": ""})

    assert "owns it already. Choose someone else." in answer.content.decode()


@pytest.mark.parametrize("name", ["sell", "move", "away", "retire", "died", "elsewhere"])
def test_nothing_becomes_of_a_horse_ahead_of_today(browser, name):
    url = f"/horses/{owned_horse().pk}/{name}/"

    form = browser.post(url, {"date": DAY + ONE, "note": ""}).context["form"]

    assert form.errors["date"] == ["This day is still ahead. Type today, 2026-10-14, or an earlier day."]


def test_a_planned_stop_is_proposed_to_be_canceled_where_it_is_for_that_horse_alone(browser):
    horse = owned_horse()
    alone, shared = planned(horse), planned(horse, HorseFactory(), on=DAY + 2 * WEEK)

    form = browser.get(f"/horses/{horse.pk}/died/").context["form"]

    chosen = {name: field.initial for name, field in form.fields.items() if name.startswith("stop_")}
    assert chosen == {f"stop_{alone.pk}": "cancel", f"stop_{shared.pk}": "off"}


def test_a_client_leaves_with_one_horse_and_hands_on_the_share_in_another(browser):
    ann, cara = ClientFactory(name="Ann"), ClientFactory(name="Cara")
    own, shared = owned_horse(ann, name="Moss"), HorseFactory(name="Sorrel")
    for client in (ann, ClientFactory(name="Ben")):
        OwnerFactory(horse=shared, client=client, share=50)
    url = f"/clients/{ann.pk}/leave/"

    form = browser.get(url).context["form"]
    typed = {"date": DAY, f"horse_{own.pk}": "goes", f"horse_{shared.pk}": cara.pk, "note": ""}
    words, seen = press_preview(browser, url, typed)
    answer = browser.post(url, seen)

    assert [form.fields[f"horse_{horse.pk}"].initial for horse in (own, shared)] == ["goes", None]
    assert words == [
        "Moss is recorded as away, and no longer comes up as due.",
        "From October 15 on, Sorrel belongs to Cara and Ben.",
        "Ann goes into the archive, with the whole history.",
    ]
    assert "Left on Oct 14, 2026." in browser.get(answer.url).content.decode()
    assert owners_of(shared)[-2:] == [("Cara", 50, DAY + ONE, None), ("Ben", 50, DAY + ONE, None)]


def test_the_form_of_a_client_who_leaves_takes_as_many_queries_with_one_horse_as_with_three(browser):
    ann, counts = ClientFactory(), []
    browser.get("/")
    for _ in range(2):
        owned_horse(ann)
        OwnerFactory(horse=owned_horse(ann), share=50)
        with CaptureQueriesContext(connection) as asked:
            browser.get(f"/clients/{ann.pk}/leave/")
        counts.append(len(asked))

    assert counts[0] == counts[1]


def test_a_press_says_that_a_horse_is_retired_unless_a_planned_stop_has_to_be_asked_about(browser):
    retired, planned_for = owned_horse(name="Moss"), owned_horse()
    planned(planned_for)

    answers = [
        browser.post(f"/horses/{horse.pk}/answer/", {"kind": "retired"}) for horse in (retired, planned_for)
    ]

    assert [answer.url for answer in answers] == ["/horses/", f"/horses/{planned_for.pk}/retire/"]
    assert list(Horse.objects.values_list("status", flat=True).order_by("pk")) == ["retired", "active"]
    [message] = get_messages(answers[0].wsgi_request)
    assert str(message) == "Moss is retired. You can undo this today, on its page."
