"""A form is on the phone first, and reaches the book once, whatever becomes of tab and signal."""

import re

import pytest

from practice.models import Client, PhoneEntry
from tests.conftest import PHONE
from tests.factories.practice import DAY, ProfileFactory

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
HERE = "Saved on this phone. It goes to the book when there is signal."
ENTRIES = """async () => {
  const { kept } = await import("/static/js/entries.js");
  const name = (fields) => Object.fromEntries(fields).name;
  return (await kept()).map(({ title, path, login, fields }) => [title, path, login, name(fields)]);
}"""


@pytest.fixture
def phone(open_page, user, settings):
    settings.TODAY = DAY
    ProfileFactory()
    return open_page(*PHONE, user=user)


def type_a_client(page, name="Petra Quill"):
    page.goto("/clients/add/")
    page.get_by_label("Name", exact=True).fill(name)


def save(page):
    page.get_by_role("button", name="Save").click()


def names():
    return list(Client.objects.order_by("pk").values_list("name", flat=True))


def entries_on(page):
    return page.evaluate(ENTRIES)


def until_sent(page):
    for _ in range(200):
        if not entries_on(page):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"still on the phone: {entries_on(page)}")


def test_with_signal_a_form_is_in_the_book_at_once_as_before(phone):
    type_a_client(phone)

    save(phone)

    phone.wait_for_url(re.compile(r"/clients/\d+/$"))
    phone.get_by_text("Saved.").wait_for()
    assert names() == ["Petra Quill"]
    assert entries_on(phone) == []
    assert phone.locator("#badge").inner_text().strip() == "Saved"
    assert not phone.locator("[data-count=here]").is_visible()
    assert phone.problems == []


def test_with_signal_a_form_that_is_refused_shows_its_page_with_what_was_typed(phone):
    type_a_client(phone, " ")
    phone.get_by_role("textbox", name="Phone").fill("555-0100")

    save(phone)

    phone.get_by_text("This cannot be blank.").first.wait_for()
    assert phone.get_by_role("textbox", name="Phone").input_value() == "555-0100"
    assert (names(), entries_on(phone), PhoneEntry.objects.count()) == ([], [], 0)
    phone.get_by_label("Name", exact=True).fill("Petra Quill")
    save(phone)
    phone.wait_for_url(re.compile(r"/clients/\d+/$"))
    assert names() == ["Petra Quill"]


def test_without_signal_it_is_on_the_phone_and_goes_when_there_is_signal(phone):
    type_a_client(phone)
    phone.context.set_offline(True)

    save(phone)

    phone.get_by_text(HERE).wait_for()
    assert entries_on(phone) == [["New client", "/clients/add/", "farrier", "Petra Quill"]]
    assert phone.locator("[data-count=here]").inner_text().split() == ["1", "on", "this", "phone"]
    phone.context.set_offline(False)
    phone.locator("[data-count=here]").wait_for(state="hidden")
    assert (names(), entries_on(phone)) == (["Petra Quill"], [])


def test_a_closed_tab_loses_nothing(phone):
    type_a_client(phone)
    phone.context.set_offline(True)
    save(phone)
    phone.get_by_text(HERE).wait_for()
    phone.close()
    phone.context.set_offline(False)

    page = phone.context.new_page()
    page.goto("/clients/")

    until_sent(page)
    assert names() == ["Petra Quill"]


def test_an_answer_that_is_lost_is_asked_for_again_and_nothing_is_saved_twice(phone):
    type_a_client(phone)
    phone.route("**/phone/entries/", lambda route: (route.fetch(), route.abort("connectionreset")), times=1)

    save(phone)

    phone.get_by_text(HERE).wait_for()
    phone.evaluate("dispatchEvent(new Event('online'))")
    until_sent(phone)
    assert names() == ["Petra Quill"]
