"""A form saves nothing over someone else's change, and asks once about what is odd."""

import re

import pytest
from django.urls import reverse

from practice.lib.asking import unseal
from practice.models import Client, Horse
from tests.factories.practice import ClientFactory, HorseFactory

pytestmark = pytest.mark.django_db
CLIENT = {"name": "Ada Lund", "phone": "555-0100", "billing": "per_day"}


def field_of(answer, name: str) -> str:
    """Return what a page carries in a hidden field or a tick."""
    [value] = re.findall(rf'name="{name}"\s+value="([^"]+)"', answer.content.decode())
    return value


@pytest.fixture
def ada():
    return ClientFactory(name="Ada Lund", phone="555-0100")


def opened(browser, client: Client) -> tuple[str, dict]:
    """Return the address of a client's form, and what the page posts as it was opened."""
    address = reverse("practice:client-change", args=[client.pk])
    return address, CLIENT | {"opened": field_of(browser.get(address), "opened")}


def test_a_form_that_nobody_else_touched_is_saved(browser, ada):
    address, data = opened(browser, ada)

    answer = browser.post(address, data | {"phone": "555-0101"})

    assert (answer.status_code, Client.objects.get().phone) == (302, "555-0101")


def test_a_change_in_another_window_is_shown_and_nothing_is_overwritten(browser, ada):
    address, data = opened(browser, ada)
    Client.objects.update(phone="555-0199", notes="Gate code 4711")

    answer = browser.post(address, data | {"phone": "555-0101"})

    clashes = [(row.label, row.saved, row.typed, row.is_untouched) for row in answer.context["form"].clashes]
    assert clashes == [
        ("Phone", "555-0199", "555-0101", False),
        ("Notes", "Gate code 4711", "Blank", True),
    ]
    assert Client.objects.get().phone == "555-0199"


def test_saving_mine_keeps_what_i_did_not_touch_as_it_is_now(browser, ada):
    address, data = opened(browser, ada)
    Client.objects.update(phone="555-0199", notes="Gate code 4711")
    asked = browser.post(address, data | {"phone": "555-0101"})

    browser.post(
        address, data | {"phone": "555-0101", "notes": "Gate code 4711", "opened": field_of(asked, "opened")}
    )

    assert (Client.objects.get().phone, Client.objects.get().notes) == ("555-0101", "Gate code 4711")
    assert ">Gate code 4711</textarea>" in re.sub(r">\s+", ">", asked.content.decode())


def test_an_error_in_between_does_not_hide_the_other_change(browser, ada):
    address, data = opened(browser, ada)
    Client.objects.update(phone="555-0199")
    wrong = browser.post(address, data | {"phone": "555-0101", "payment_terms_days": "400"})

    answer = browser.post(address, data | {"phone": "555-0101", "opened": field_of(wrong, "opened")})

    assert wrong.context["form"].errors == {"payment_terms_days": ["Type a whole number from 0 to 365."]}
    assert [row.saved for row in answer.context["form"].clashes] == ["555-0199"]


def test_the_values_that_a_page_carries_are_signed(browser, ada):
    address, data = opened(browser, ada)

    answer = browser.post(address, data | {"opened": data["opened"][:-2] + "xx", "phone": "555-0101"})

    assert unseal(data["opened"])["phone"] == "555-0100"
    assert [row.saved for row in answer.context["form"].clashes] == ["555-0100"]


def test_a_second_horse_of_the_same_name_is_asked_about_once(browser):
    HorseFactory(name="Bella", place__name="Cedar Hollow")
    address, data = reverse("practice:horse-add"), {"name": " bella ", "cycle_weeks": "6", "status": "active"}

    asked = browser.post(address, data)
    before = Horse.objects.count()
    saved = browser.post(address, data | {"right": field_of(asked, "right")})

    questions = [question for question, _ in asked.context["form"].questions]
    assert questions == ["Another horse at Cedar Hollow is named Bella too. Is this a second one?"]
    assert (before, saved.status_code, Horse.objects.count()) == (1, 302, 2)


def test_a_tick_stands_only_for_what_it_was_beside(browser):
    HorseFactory(name="Bella")
    HorseFactory(name="Juno")
    address, data = reverse("practice:horse-add"), {"cycle_weeks": "6", "status": "active"}
    asked = browser.post(address, data | {"name": "Bella"})

    again = browser.post(address, data | {"name": "Juno", "right": field_of(asked, "right")})

    assert [row.code for row in again.context["form"].asked] == ["same_name"]
    assert Horse.objects.count() == 2


def test_an_error_names_its_field_and_is_described_by_it(browser):
    answer = browser.post(
        reverse("practice:horse-add"), {"name": "Juno", "cycle_weeks": "60", "status": "active"}
    )

    page = answer.content.decode()
    [field] = re.findall(r'<input[^>]*name="cycle_weeks"[^>]*>', page)
    assert 'aria-invalid="true"' in field and 'aria-describedby="id_cycle_weeks_error"' in field
    assert re.search(r'class="errors" role="alert" tabindex="-1" autofocus', page)
    assert '<div id="id_cycle_weeks_error">' in page and 'href="#id_cycle_weeks"' in page
    assert answer.context["form"].errors == {"cycle_weeks": ["Type a whole number from 1 to 52."]}


@pytest.mark.parametrize(
    ("name", "address"),
    [
        ("practice:visit-complete", "/visits/7/"),
        ("practice:client-archive", "/clients/7/"),
        ("practice:service-archive", "/services/"),
        ("billing:expense-remove", "/expenses/"),
        ("practice:odometer-undo", "/"),
    ],
)
def test_the_address_of_a_button_leads_to_the_page_above(browser, name, address):
    answer = browser.get(reverse(name, args=[7]))

    assert (answer.status_code, answer.headers["Location"]) == (302, address)
