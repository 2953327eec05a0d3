"""In Chromium, phone and desk: a conflict, an odd value with its tick, an error that takes the focus."""

from decimal import Decimal

import pytest
from django.urls import reverse

from billing.models import Payment
from practice.lib.profile import Profile
from practice.models import Client, Horse
from tests.conftest import PHONE
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


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


HERE = {"latitude": 40.8136249, "longitude": -96.7025301}


def test_the_position_of_home_is_filled_in_by_the_device_as_the_reader_writes_numbers(open_page, user):
    ProfileFactory(locale="de-DE")
    page = open_page(*PHONE, user=user, geolocation=HERE, permissions=["geolocation"])
    page.goto(reverse("practice:settings-road"))

    page.click("text=Use where I am now")
    page.wait_for_function("document.getElementById('news').textContent")
    page.click(".act")
    page.wait_for_url("**/settings/")

    home = Profile.current()
    assert (home.home_latitude, home.home_longitude) == (Decimal("40.81362"), Decimal("-96.70253"))
    assert page.problems == []


def test_a_browser_that_may_not_say_where_it_is_leaves_the_numbers_to_be_typed(open_page, user):
    ProfileFactory()
    page = open_page(*PHONE, user=user, permissions=[])
    page.goto(reverse("practice:place-add"))

    page.click("text=Use where I am now")
    said = page.wait_for_selector(".failed:has-text('numbers')").inner_text()

    assert "This browser is not allowed to say where you are. Type the numbers instead." in said
    assert page.input_value("#id_latitude") == ""


def test_without_javascript_the_position_is_typed(open_page, user):
    ProfileFactory()
    page = open_page(*PHONE, user=user, java_script_enabled=False)
    page.goto(reverse("practice:settings-road"))

    page.fill("#id_home_latitude", "40.8")
    page.fill("#id_home_longitude", "-96.7")
    offered = page.locator("text=Use where I am now").count()
    page.click(".act")
    page.wait_for_url("**/settings/")

    assert (offered, Profile.current().home_latitude) == (0, Decimal("40.8"))
