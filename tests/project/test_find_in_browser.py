"""The field at the top of every page, by keys alone."""

import pytest
from django.urls import reverse

from tests.conftest import DESK
from tests.factories.practice import HorseFactory


@pytest.mark.django_db(transaction=True)
def test_arrow_keys_choose_enter_opens_and_escape_closes(open_page, user):
    for name in ("Juno", "Juno Grey"):
        HorseFactory(name=name)
    page = open_page(*DESK, user=user)
    page.goto(reverse("practice:round-today"))
    field = page.get_by_role("combobox", name="Find by name, number, or phone")

    with page.expect_response(lambda answer: answer.url.endswith("q=juno")):
        field.press_sequentially("juno")
    page.wait_for_selector(".htmx-request, .htmx-swapping, .htmx-settling", state="detached")
    page.get_by_role("option").nth(1).wait_for()
    chosen = []
    for key in ("ArrowDown", "ArrowDown", "ArrowDown", "ArrowUp"):
        page.keyboard.press(key)
        chosen.append(field.get_attribute("aria-activedescendant"))
    news = page.locator("#news").inner_text()
    page.keyboard.press("Escape")
    closed = [field.get_attribute("aria-expanded"), page.get_by_role("listbox").count(), field.input_value()]
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Juno Grey: new, no shoeing yet.").wait_for()

    assert chosen == ["hit-1", "hit-2", None, "hit-2"]
    assert news == "2 matches"
    assert closed == ["false", 0, "juno"]
    assert page.problems == []


@pytest.mark.django_db(transaction=True)
def test_enter_without_a_choice_leads_to_all_that_is_found(open_page, user):
    HorseFactory(name="Juno")
    page = open_page(*DESK, user=user, java_script_enabled=False)
    page.goto(reverse("practice:round-today"))

    page.get_by_role("banner").get_by_role("searchbox").fill("juno")
    page.keyboard.press("Enter")
    page.wait_for_url("**/find/**")

    assert page.get_by_role("heading", level=1).inner_text() == "1 match for 'juno'."
    assert page.locator("#list .row-name").all_inner_texts() == ["Juno"]
