"""What was chosen or typed is kept on the device: no session, connection or closed tab takes it away."""

import re
from datetime import timedelta
from time import sleep

import pytest
from django.contrib.sessions.models import Session

from billing.models import Price
from practice.models import Client, Visit, Work
from stock.models import Supplier
from tests.conftest import PHONE
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory
from tests.project.phone.test_queue import until_sent

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
RESTORED = "Restored what you had not saved yet."


class Device:
    """A page with a horse's form, and what can happen to it."""

    def __init__(self, page, horse_url):
        self.page, self.horse_url = page, horse_url

    def open(self, address):
        self.page.goto(address)

    def tap(self, name, role="button"):
        self.page.get_by_role(role, name=re.compile(f"^{name}")).first.click()
        self.page.wait_for_load_state()

    def chosen(self):
        """The works that are tapped on the horse's form, once it is quiet."""
        self.page.wait_for_selector(".htmx-request", state="detached")
        return [
            button.inner_text().split("\n")[0].strip()
            for button in self.page.locator(".choice [aria-pressed=true]").all()
        ]

    def badge(self):
        return self.page.locator("#badge").inner_text().strip()

    def choose(self, work="Fronts"):
        self.open(self.horse_url)
        self.tap(work)
        self.page.locator(".choice [aria-pressed=true]").wait_for()
        self.page.locator("#sum b").wait_for()

    def wait_for(self, words):
        self.page.get_by_text(words).first.wait_for()

    def log_in(self):
        self.page.wait_for_url("**/login/**")
        self.page.get_by_label("Name").fill("farrier")
        self.page.get_by_label("Password").fill("six nails a shoe")
        self.page.get_by_role("button", name="Log in").click()


@pytest.fixture
def visit(settings):
    """A stop with Juniper and Bramble, and four works to tap."""
    settings.TODAY = DAY
    ProfileFactory()
    barn = PlaceFactory(name="Larkspur Barn")
    for name, price, shoes in (("Fronts", 175, 2), ("Trim", 55, 0), ("Extra", 20, 0), ("Pads", 9, 0)):
        resets = name in ("Fronts", "Trim")
        service = ServiceFactory(name=name, new_shoes=shoes, feet_nailed=shoes, resets_cycle=resets)
        Price.objects.create(service=service, valid_from=DAY - timedelta(400), price=price)
    ItemFactory(name="Plain front, No 2", pattern="plain", size="2", fits="front")
    ItemFactory(name="Nails, slim No 5", kind="nail")
    for name in ("Juniper", "Bramble"):
        OwnerFactory(horse=HorseFactory(name=name, place=barn))
    return VisitFactory(place=barn)


def at_juniper(page, visit):
    return Device(page, visit.horse_url(visit.place.horses.get(name="Juniper")))


@pytest.fixture
def device(open_page, user, visit):
    """A phone."""
    return at_juniper(open_page(*PHONE, user=user), visit)


@pytest.fixture
def either(own_page, visit):
    """A phone and a desk."""
    return at_juniper(own_page, visit)


def saved_work():
    return list(Work.objects.values_list("horse__name", "service__name"))


@pytest.mark.parametrize("way", ["a reload", "a finding", "another horse", "Back", "a closed tab"])
def test_what_was_chosen_on_a_horse_is_there_after(device, visit, way):
    device.choose()
    device.page.get_by_text("Quantity, price, or note").click()
    device.page.locator("[name^=note_]").fill("left hind is short")
    assert device.badge() == "Not saved yet"

    if way == "a reload":
        device.page.reload()
    elif way == "a finding":
        device.tap("Add a finding", "link")
        device.page.go_back()
    elif way == "another horse":
        device.tap("Bramble", "link")
        device.tap("Juniper", "link")
    elif way == "Back":
        device.open("/")
        assert device.page.locator("#drafts a").all_inner_texts() != []
        device.page.go_back()
    else:
        fresh = device.page.context.new_page()
        fresh.problems = device.page.problems
        device.page.close()
        device.page = fresh
        device.open(device.horse_url)
    device.page.locator(".choice [aria-pressed=true]").wait_for()

    assert (device.chosen(), device.badge()) == (["Fronts"], "Not saved yet")
    assert device.page.locator("[name^=note_]").input_value() == "left hind is short"
    device.tap("Save")
    device.wait_for("Saved. Bramble is next.")
    assert (device.badge(), saved_work()) == ("Saved", [("Juniper", "Fronts")])
    device.open(device.horse_url)
    assert (device.chosen(), device.badge(), device.page.locator("main .filled").count()) == (
        ["Fronts"],
        "",
        0,
    )
    assert device.page.problems == []


def test_a_draft_that_is_discarded_is_gone(device):
    device.choose()
    device.page.reload()
    device.wait_for(RESTORED)

    device.tap("Discard")
    device.page.locator("main .filled").wait_for(state="detached")

    assert (device.chosen(), device.badge()) == ([], "")
    device.page.reload()
    assert (device.chosen(), device.badge(), saved_work()) == ([], "", [])


def test_a_session_that_ends_during_a_horse_brings_the_form_back_after_the_login(either):
    either.choose()
    Session.objects.all().delete()

    either.tap("Trim")
    either.log_in()
    either.wait_for(RESTORED)

    assert either.page.url.endswith(either.horse_url)
    assert either.chosen() == ["Trim"]
    either.tap("Save")
    either.wait_for("Saved. Bramble is next.")
    assert saved_work() == [("Juniper", "Trim")]
    assert either.page.problems == []


def test_a_horse_saved_after_its_session_ended_waits_on_the_phone_for_the_login(either):
    either.choose()
    Session.objects.all().delete()

    either.tap("Save")
    either.log_in()
    until_sent(either.page)

    assert saved_work() == [("Juniper", "Fronts")]


def test_a_session_that_ends_during_another_form_brings_it_back_after_the_login(either):
    either.open("/suppliers/add/")
    either.page.get_by_label("Name", exact=True).fill("Petra Quill")
    Session.objects.all().delete()
    either.page.context.clear_cookies()

    either.tap("Save")
    either.log_in()
    either.wait_for(RESTORED)
    either.tap("Save")
    either.wait_for("Saved.")

    assert list(Supplier.objects.filter(name="Petra Quill").values_list("name", flat=True)) == ["Petra Quill"]
    either.open("/suppliers/add/")
    assert either.page.get_by_label("Name", exact=True).input_value() == ""


def test_another_login_on_the_device_sees_no_draft(device, django_user_model):
    device.open("/clients/add/")
    device.page.get_by_label("Name", exact=True).fill("Petra Quill")
    django_user_model.objects.create_user("helper", password="another")
    device.page.context.clear_cookies()

    device.open("/login/?next=/clients/add/")
    device.page.get_by_label("Name").fill("helper")
    device.page.get_by_label("Password").fill("another")
    device.tap("Log in")
    device.page.wait_for_url("**/clients/add/")

    assert (device.page.get_by_label("Name", exact=True).input_value(), device.badge()) == ("", "")


def test_a_tap_without_a_connection_is_answered_without_a_total_and_comes_back(either):
    either.choose()
    either.page.context.set_offline(True)

    either.tap("Trim")
    either.wait_for("No total without signal.")
    assert (either.chosen(), either.badge()) == (["Trim"], "No connection")
    assert either.page.locator("#sum b, .failed").count() == 0

    either.page.context.set_offline(False)
    either.page.reload()
    either.wait_for(RESTORED)
    assert (either.chosen(), saved_work()) == (["Trim"], [])


def fail_once(monkeypatch, name: str):
    """Let the next call of a function end in an error that nobody expected."""

    def fail(*args, **kwargs):
        monkeypatch.undo()
        raise LookupError("the anvil fell")

    monkeypatch.setattr(name, fail)


def test_a_total_that_fails_on_the_server_says_its_number_and_the_tap_stays(device, monkeypatch):
    device.choose()
    fail_once(monkeypatch, "practice.views.visits.HorseWorkForm")

    device.tap("Trim")
    device.wait_for("Not up to date: something went wrong (error ")

    assert (device.chosen(), device.page.locator("#sum b").count()) == (["Trim"], 0)
    device.page.reload()
    device.wait_for(RESTORED)
    assert (device.chosen(), saved_work()) == (["Trim"], [])


def test_a_form_that_fails_on_the_server_says_so_and_is_still_there(device, monkeypatch):
    device.open("/suppliers/add/")
    device.page.get_by_label("Name", exact=True).fill("Petra Quill")
    fail_once(monkeypatch, "stock.forms.items.SupplierForm.save")

    device.tap("Save")
    device.wait_for("Your last step was not saved.")
    device.open("/suppliers/add/")
    device.wait_for(RESTORED)
    device.tap("Save")
    device.wait_for("Saved.")

    assert Supplier.objects.filter(name="Petra Quill").count() == 1


def test_saving_without_a_connection_keeps_it_on_the_phone_and_saves_once_when_it_is_back(either):
    either.choose()
    either.page.context.set_offline(True)
    either.wait_for("No connection")

    either.tap("Save")
    either.wait_for("Saved on this phone.")
    waiting = saved_work()
    either.page.context.set_offline(False)
    either.page.locator("[data-count=here]").wait_for(state="hidden")

    assert (waiting, saved_work()) == ([], [("Juniper", "Fronts")])


def test_a_form_whose_answer_got_lost_is_not_saved_twice(device):
    device.open("/suppliers/add/")
    device.page.get_by_label("Name", exact=True).fill("Petra Quill")
    device.page.context.route(
        "**/suppliers/add/", lambda route: (route.fetch(max_redirects=0), route.abort("connectionreset"))
    )
    device.page.get_by_role("button", name="Save").click()
    device.page.wait_for_url("chrome-error://**")
    device.page.context.unroute("**/suppliers/add/")
    device.page.context.clear_cookies(name=re.compile("^form_"))

    device.open("/suppliers/add/")
    device.wait_for("Restored what you sent without an answer.")
    device.tap("Save")
    device.wait_for("This was saved before, so it was not saved again.")

    assert Supplier.objects.filter(name="Petra Quill").count() == 1


def test_work_that_was_saved_elsewhere_since_is_not_overwritten_unasked(device, visit):
    device.choose()
    WorkFactory(visit=visit, horse=visit.place.horses.get(name="Juniper"), service__name="Lost shoe")

    device.page.reload()
    device.wait_for(RESTORED)
    assert (device.chosen(), device.badge()) == (["Fronts"], "Not saved yet")
    device.tap("Save")
    device.wait_for("Keep what is saved")

    assert list(Work.objects.values_list("service__name", flat=True)) == ["Lost shoe"]


def test_a_draft_of_a_row_that_changed_meanwhile_is_asked_about_before_it_is_saved(device):
    client = ClientFactory(name="Petra Quill")
    device.open(f"/clients/{client.pk}/change/")
    device.page.get_by_label("Name", exact=True).fill("Petra Q.")
    Client.objects.update(name="Petra Thorpe")

    device.page.reload()
    device.wait_for(RESTORED)
    device.tap("Save")
    device.wait_for("Petra Thorpe")

    client.refresh_from_db()
    assert client.name == "Petra Thorpe"


def test_a_form_with_an_error_stays_a_draft(device):
    device.open("/clients/add/")
    device.page.get_by_label("Email").fill("not an address")
    device.tap("Save")
    device.wait_for("Not saved yet. Check these:")
    assert (device.badge(), device.page.locator("main .filled").count()) == ("Not saved yet", 0)

    device.open("/clients/add/")
    device.wait_for(RESTORED)

    assert device.page.get_by_label("Email").input_value() == "not an address"
    assert Client.objects.filter(email="not an address").count() == 0


def test_what_is_typed_and_tapped_while_the_connection_is_slow_is_all_there(device):
    device.choose()
    device.page.route("**/horses/**", lambda route: (sleep(0.2), route.continue_()))

    device.page.evaluate(
        """() => {
          const works = [...document.querySelectorAll(".choice button")];
          for (const name of ["Extra", "Pads"]) works.find((work) => work.innerText.startsWith(name)).click();
          document.querySelector("[name^=note_]").value = "typed meanwhile";
        }"""
    )
    device.page.locator(".choice [aria-pressed=true]:has-text('Pads')").wait_for()

    assert device.chosen() == ["Fronts", "Extra", "Pads"]
    assert device.page.locator("[name^=note_]").first.input_value() == "typed meanwhile"
    assert device.page.evaluate("performance.getEntriesByType('navigation')[0].type") == "navigate"


def test_saving_with_nothing_chosen_is_an_error_beside_the_button(device):
    device.open(device.horse_url)

    device.tap("Save")

    error = device.page.locator(".thumb .error")
    assert error.inner_text().strip() == "Tap what was done first."
    assert saved_work() == [] and Visit.objects.count() == 1


def test_without_javascript_nothing_is_claimed(visit, user, open_page):
    page = open_page(*PHONE, user=user, java_script_enabled=False)

    page.goto(visit.horse_url(visit.place.horses.get(name="Juniper")))

    assert page.locator("#badge").inner_text().strip() == ""
    assert page.locator("main .filled").count() == 0
