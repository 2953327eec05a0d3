"""From the demo practice to the first invoice of one's own, on a phone: how many taps and fields it takes."""

import re

import pytest

from billing.models import Invoice
from practice.lib.profile import Profile
from tests.conftest import PHONE
from tests.factories.practice import DAY, HorseFactory, ProfileFactory
from tests.test_evening import Thumb

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
MOST_TAPS, MOST_FIELDS = 40, 15


class CountingThumb(Thumb):
    """A thumb that counts the fields it fills in as well."""

    fields = 0

    def choose(self, name, label):
        """Choose from a list: a tap that opens it, and one on what is chosen."""
        field = self.page.locator(f"[name={name}]")
        self._tap(field)
        field.select_option(label=label)
        self.taps, self.fields = self.taps + 1, self.fields + 1

    def fill_in(self, step, **typed):
        """Fill in fields of a step by their names, and save it."""
        form = self.page.locator(f"#step-{step}")
        for name, text in typed.items():
            field = form.locator(f"[name={name}]")
            self.fields += 1
            self._tap(field)
            field.fill(text)
        self._tap(form.locator("> .acts > button"))


@pytest.mark.parametrize("script", [True, False], ids=["with JavaScript", "without"])
def test_from_the_demo_to_the_first_invoice_takes_at_most_40_taps_and_15_fields(
    open_page, user, settings, script, capsys
):
    """One client, one horse, one price. Taps into fields count as taps, too."""
    settings.TODAY = DAY
    ProfileFactory(is_demo=True)
    HorseFactory()
    page = open_page(*PHONE, user=user, java_script_enabled=script)
    page.goto("/")
    thumb = CountingThumb(page)

    thumb.tap("link", "Begin your own book")
    thumb.tap("button", "Replace the demo with an empty book")
    address, how = "4 Tongs Row\nPell Crossing", "At the barn: cash or check"
    thumb.fill_in("practice", name="Garrow Farriery", address=address, pay_note=how)
    thumb.fill_in("work", price_1="55")
    thumb._tap(page.locator("summary", has_text="Clients and horses"))
    thumb.fill_in("clients", client="Petra Quill", place="Larkspur Barn", horse_1="Juniper")
    thumb.tap("link", "Home")
    thumb.tap("link", "Plan a stop")
    thumb.choose("place", "Larkspur Barn")
    thumb.tap("button", "Plan this stop")
    thumb.tap("button", "I am here")
    thumb.tap("link", re.compile("Juniper"))
    thumb.tap("button", re.compile("^Trim"))
    thumb.tap("button", re.compile("^Save"))
    thumb.tap("button", "The stop is done")
    thumb.tap("link", "Close the day")
    thumb.tap("button", "Issue 1 invoice")

    with capsys.disabled():
        print(f"\nfrom the demo to the first invoice: {thumb.taps} taps, {thumb.fields} fields")
    invoice = Invoice.objects.get()
    assert (invoice.number, invoice.client_name, invoice.total) == ("2026-0001", "Petra Quill", 55)
    assert invoice.practice_address.splitlines() == address.splitlines()
    profile = Profile.current()
    assert (profile.country, profile.currency, profile.locale) == ("US", "USD", "en-US")
    assert thumb.taps <= MOST_TAPS
    assert thumb.fields <= MOST_FIELDS
    assert page.problems == []
