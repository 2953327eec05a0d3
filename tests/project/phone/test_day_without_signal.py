"""A day at the barns without signal, recorded on the phone: in the evening all of it is in the book once."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from practice.models import Finding, Horse, HorseTime, PhoneEntry, Photo, Reading, Visit, Work
from tests.conftest import PHONE
from tests.factories.practice import (
    DAY,
    ClientFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
)
from tests.pictures import photo
from tests.project.phone.test_kept_in_browser import keeping
from tests.project.phone.test_queue import entries_on, until_sent

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
NAMES = ["Bramble", "Fern", "Juniper"]
NOTE_SYNC = "SyncManager.prototype.register = async (tag) => (sessionStorage.sync = tag)"


@pytest.fixture
def stop(settings, tmp_path):
    """A stop with three horses that are due, all trimmed six weeks ago, and a new one after it."""
    settings.TODAY, settings.DATA_DIR = DAY, tmp_path
    ProfileFactory()
    ann, trim, truck = (
        ClientFactory(name="Ann Birch"),
        ServiceFactory(name="Trim"),
        VehicleFactory(name="Truck"),
    )
    first = owned_horse(ann, name=NAMES[0], place__name="Ridge Barn")
    horses = [first, *(owned_horse(ann, name=name, place=first.place) for name in NAMES[1:])]
    before = VisitFactory(place=first.place, date=DAY - timedelta(weeks=6), status="done")
    for horse in horses:
        WorkFactory(visit=before, horse=horse, service=trim)
    VisitFactory(place__name="Hollow Farm", vehicle=truck, position=2)
    return VisitFactory(place=first.place, vehicle=truck, position=1)


@pytest.fixture
def phone(open_page, user, stop):
    """A phone that has kept its pages, and has no signal any more."""
    page = keeping(open_page(*PHONE, user=user, service_workers="allow"))
    page.context.set_offline(True)
    return page


class Hand:
    """Taps on a phone, counted: a link leads to its page, and a form to where it says without signal."""

    def __init__(self, page):
        self.page, self.taps = page, 0

    def follow(self, name: str | re.Pattern):
        target = self.page.get_by_role("link", name=name).first
        address = target.get_attribute("href")
        target.click()
        self.taps += 1
        self.page.wait_for_url(f"**{address}")

    def send(self, name: str | re.Pattern, to: str):
        """Press what sends a form, and wait for the page it leads to, which says that it is on the phone."""
        before = len(entries_on(self.page))
        self.page.get_by_role("button", name=name).first.click()
        self.taps += 1
        self.page.wait_for_url(f"**{to}")
        self.page.get_by_text("Saved on this phone. It goes to the book").wait_for()
        assert len(entries_on(self.page)) == before + 1


def record_the_day(page, stop) -> int:
    """Record a stop with its three horses, one with a finding and a photo; return how many taps it took."""
    hand, horses = Hand(page), {horse.name: horse for horse in Horse.objects.all()}
    urls = {name: stop.horse_url(horse) for name, horse in horses.items()}
    page.goto("/round/")
    page.get_by_label("Morning").fill("100")
    hand.send("Save the odometer", f"/round/{DAY}/")
    hand.send("I am here", stop.get_absolute_url())
    hand.follow("Start with Bramble")
    hand.send("As last time, save", urls["Fern"])
    hand.follow("Add a finding")
    page.locator("input[name=foot][value=LF]").check(force=True)
    page.locator("input[name=zone]").first.check(force=True)
    page.locator("input[name=kind]").nth(1).check(force=True)
    hand.taps += 3
    page.get_by_label("Photos").set_input_files(
        {"name": "hoof.jpg", "mimeType": "image/jpeg", "buffer": photo((800, 600))}
    )
    page.locator("ul.photos li").first.wait_for()
    hand.send(re.compile("^Save"), urls["Fern"])
    hand.send("As last time, save", urls["Juniper"])
    hand.send("As last time, save", stop.get_absolute_url())
    hand.send("The stop is done", f"/round/{DAY}/")
    return hand.taps


def in_the_book(stop) -> dict:
    stop.refresh_from_db()
    return {
        "work": sorted(Work.objects.filter(visit=stop).values_list("horse__name", "service__name")),
        "findings": Finding.objects.filter(visit=stop).count(),
        "photos": Photo.objects.count(),
        "morning": list(Reading.objects.values_list("at", "reading")),
        "stop": (stop.status, stop.arrived is not None, stop.leave is not None),
        "to settle": list(PhoneEntry.objects.to_settle().values_list("title", "message")),
    }


ALL_OF_IT = {
    "work": [(name, "Trim") for name in NAMES],
    "findings": 1,
    "photos": 1,
    "morning": [("start", Decimal(100))],
    "stop": (Visit.Status.DONE, True, True),
    "to settle": [],
}


def test_three_horses_are_recorded_and_the_tab_closed_and_all_is_in_the_book_once(phone, stop, capsys):
    taps = record_the_day(phone, stop)
    here = phone.get_by_role("heading", level=1).inner_text().replace("\n", " ")
    line = phone.locator(f"[data-line='{reverse('practice:visit-complete', args=[stop.pk])}']").inner_text()
    context = phone.context
    phone.close()
    context.set_offline(False)

    page = context.new_page()
    page.goto("/round/")
    until_sent(page)

    assert in_the_book(stop) == ALL_OF_IT
    assert (here, line) == ("Next: Hollow Farm.", "Saved on this phone")
    assert HorseTime.objects.count() == 0  # each was open for seconds, which is no time
    with capsys.disabled():
        print(f"\na stop with three horses and a finding, without signal: {taps} taps")


def signal_without_a_page(page):
    """Tell the worker of a page that there is signal again, as its browser does with the page closed."""
    seen = []
    tools = page.context.new_cdp_session(page)
    tools.on("ServiceWorker.workerRegistrationUpdated", lambda told: seen.extend(told["registrations"]))
    tools.send("ServiceWorker.enable")
    for _ in range(1200):
        if seen:
            break
        page.wait_for_timeout(50)
    origin = seen[-1]["scopeURL"].rstrip("/")
    which = {"origin": origin, "registrationId": seen[-1]["registrationId"]}
    page.goto("about:blank")
    page.context.set_offline(False)
    tools.send("ServiceWorker.dispatchSyncEvent", {**which, "tag": "entries", "lastChance": False})


def test_with_roundbook_closed_the_browser_sends_what_was_recorded(phone, stop):
    phone.add_init_script(NOTE_SYNC)  # a private window, as a test's is, has no sync of its own
    record_the_day(phone, stop)
    tag = phone.evaluate("sessionStorage.sync")

    signal_without_a_page(phone)

    assert tag == "entries"
    for _ in range(600):
        if in_the_book(stop) == ALL_OF_IT:
            break
        phone.wait_for_timeout(100)
    assert in_the_book(stop) == ALL_OF_IT


def test_a_connection_cut_in_the_middle_of_each_request_loses_and_doubles_nothing(phone, stop):
    """Each entry is stopped on its way there once, and once its answer is, after the book has it."""
    record_the_day(phone, stop)
    recorded = len(entries_on(phone))
    context, cuts = phone.context, []

    def cut(route):
        uuid = re.search(r'"uuid": ?"([0-9a-f]{32})"', route.request.post_data or "")[1]
        times = cuts.count(uuid)
        cuts.append(uuid)
        if times == 1:
            route.fetch()
        route.continue_() if times > 1 else route.abort("connectionreset")

    context.route("**/phone/entries/", cut)
    phone.close()
    context.set_offline(False)

    page = context.new_page()
    page.goto("/round/")
    until_sent(page, ask_again=True)

    assert in_the_book(stop) == ALL_OF_IT
    assert [cuts.count(uuid) for uuid in dict.fromkeys(cuts)] == [3] * recorded
