"""In Chromium, phone and desk: a conflict, an odd value with its tick, an error that takes the focus."""

import pytest
from django.urls import reverse

from billing.models import Payment
from practice.models import Client, Horse
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory

pytestmark = [pytest.mark.slow, pytest.mark.looks, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def opened(own_page, settings):
    settings.TODAY = DAY
    ProfileFactory()
    yield own_page
    assert own_page.problems == []
    assert own_page.evaluate("document.documentElement.scrollWidth") <= own_page.viewport_size["width"]


def focused(page) -> str:
    return page.evaluate("document.activeElement.className || document.activeElement.id")


def focus_on_answer(page, selector: str) -> str:
    """The class that holds the focus once the answer to a press has come: a click does not wait for it."""
    page.wait_for_selector(selector)
    page.wait_for_load_state()
    page.wait_for_function("document.activeElement !== document.body")
    return focused(page)


def test_a_conflict_shows_both_values_and_saves_mine(opened):
    client = ClientFactory(name="Ada Lund", phone="555-0100")
    opened.goto(reverse("practice:client-change", args=[client.pk]))
    Client.objects.update(phone="555-0199", notes="Gate code 4711")

    opened.fill("#id_phone", "555-0101")
    opened.click(".act")
    had_focus, shown = focus_on_answer(opened, ".asks"), opened.inner_text(".asks")
    stays = Client.objects.get().phone
    opened.click("text=Save mine")
    opened.wait_for_url(f"**{client.get_absolute_url()}")

    assert all(words in shown for words in ("555-0199", "555-0101", "Gate code 4711"))
    assert (had_focus, stays) == ("asks", "555-0199")
    assert (Client.objects.get().phone, Client.objects.get().notes) == ("555-0101", "Gate code 4711")


def test_keeping_what_is_saved_loads_the_page_again(opened):
    client = ClientFactory(phone="555-0100")
    address = reverse("practice:client-change", args=[client.pk])
    opened.goto(address)
    Client.objects.update(phone="555-0199")

    opened.fill("#id_phone", "555-0101")
    opened.click(".act")
    opened.click("text=Keep what is saved")
    opened.wait_for_selector(".asks", state="detached")

    assert opened.url.endswith(address)
    assert (opened.input_value("#id_phone"), Client.objects.get().phone) == ("555-0199", "555-0199")


def test_an_odd_payment_is_saved_by_its_tick(opened):
    invoice = InvoiceFactory(net=45)
    opened.goto(reverse("billing:payment-add", args=[invoice.client.pk]))

    opened.fill("#id_amount", "1800")
    opened.click(".act")
    had_focus, shown = focus_on_answer(opened, ".asks"), opened.inner_text(".asks")
    before = Payment.objects.count()
    opened.check(".asks input")
    opened.click(".act")
    opened.wait_for_url(f"**{invoice.client.get_absolute_url()}")

    assert "That is 40 times what is owed. Is it right?" in shown
    assert (had_focus, before, Payment.objects.get().amount) == ("asks", 0, 1800)


def test_an_error_takes_the_focus_and_leads_to_its_field(opened):
    address = reverse("practice:horse-add")
    opened.goto(address)
    opened.fill("#id_name", "Juno")
    opened.fill("#id_cycle_weeks", "60")

    opened.click(".act")
    had_focus, field = focus_on_answer(opened, ".errors"), opened.locator("#id_cycle_weeks")
    described = opened.inner_text(f"#{field.get_attribute('aria-describedby')}")
    opened.click(".errors a")

    assert (had_focus, field.get_attribute("aria-invalid")) == ("errors", "true")
    assert described.strip() == "Type a whole number from 1 to 52."
    assert focused(opened) == "id_cycle_weeks"
    assert (opened.goto(address).status, Horse.objects.count()) == (200, 0)
