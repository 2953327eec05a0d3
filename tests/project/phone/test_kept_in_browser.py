"""The phone in a browser: what it keeps opens without signal, and goes with the login."""

import threading
from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from django.urls import reverse

from practice.models import Horse
from practice.project.phone.kept import kept_pages
from practice.views import round as round_views
from tests.conftest import PHONE, session_cookie
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, VisitFactory, owned_horse
from tests.test_accessibility import axe

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]

ROUND = f"/round/{DAY}/"
# What the phone has of each page of the list, and under whose name.
KEPT = """async () => {
  const cache = await caches.open("pages");
  const known = await (await cache.match("/phone/kept.json"))?.json();
  const there = [];
  for (const { path } of known?.addresses ?? []) if (await cache.match(path)) there.push(path);
  const names = await caches.keys();
  const { login, stamp, done } = known ?? {};
  return { login, stamp, isDone: Boolean(done), isFull: names.includes("full"), there, caches: names.length };
}"""

IS_KEPT_WITH = """async ([path, words]) => {
  const page = await (await caches.open("pages")).match(path, { ignoreVary: true });
  return (await page.text()).includes(words);
}"""


@pytest.fixture
def stop(settings):
    """A stop today with two horses, and one of them once more in two days."""
    settings.TODAY = DAY
    ProfileFactory()
    horse = owned_horse(ClientFactory(name="Ann Lee"), name="Juno", cautions="Kicks with the right hind.")
    owned_horse(ClientFactory(name="Bo Hart"), name="Bramble", place=horse.place)
    for ahead in (0, 2):
        VisitFactory(date=DAY + timedelta(ahead), place=horse.place, status="planned")
    return horse.place.visits.earliest("date")


@pytest.fixture
def phone(open_page, user, stop):
    """A phone that has kept all pages of its login."""
    return keeping(open_page(*PHONE, user=user, service_workers="allow"))


def keeping(page, path: str = "/round/"):
    page.goto(path)
    wait_until(page, lambda kept: kept["isDone"])
    return page


def kept_on(page) -> dict:
    return page.evaluate(KEPT)


def wait_until(page, holds) -> None:
    """Wait until something holds of what the phone keeps; a test that waits for nothing fails in the end."""
    for _ in range(600):
        if holds(kept_on(page)):
            return
        page.wait_for_timeout(100)
    raise AssertionError(kept_on(page))


def without_signal(page):
    """Take the signal away, and open a new tab."""
    page.context.set_offline(True)
    return page.context.new_page()


def test_the_round_its_stops_and_its_horses_open_in_a_new_tab_without_signal(phone, stop):
    tab = without_signal(phone)

    tab.goto("/round/")
    address, line = tab.url, tab.locator("#as-of").inner_text()
    findings = axe(tab)
    tab.get_by_role("link", name=stop.place.name).click()
    horses = tab.locator("main").inner_text()
    tab.get_by_role("link", name="Juno").first.click()
    tab.wait_for_url(stop.horse_url(Horse.objects.get(name="Juno")))

    assert address.endswith(ROUND)
    assert line.startswith("The book cannot be reached. This page is as of ")
    assert ("Juno" in horses, "Bramble" in horses) == (True, True)
    assert "Kicks with the right hind." in tab.locator("main").inner_text()
    tab.locator("[data-badge=offline]").wait_for()
    assert findings == []


def test_all_that_is_on_the_list_is_kept_and_nothing_else(phone):
    names = phone.evaluate("async () => (await (await caches.open('pages')).keys()).map((each) => each.url)")

    paths = {name.removeprefix(phone.url.removesuffix(ROUND)) for name in names}
    assert paths == {page.path for page in kept_pages(DAY)} | {"/phone/kept.json"}


def test_a_page_that_is_not_kept_says_so_and_leads_back_to_the_round(phone):
    tab = without_signal(phone)

    tab.goto("/money/")
    heading, findings = tab.locator("h1").inner_text(), axe(tab)
    tab.get_by_role("link", name="Back to the round").click()
    tab.wait_for_url(f"**{ROUND}")

    assert heading.replace("\n", " ") == "This page is not kept on this phone."
    assert findings == []


def test_with_signal_the_page_comes_from_the_book(phone, stop):
    Horse.objects.filter(name="Juno").update(name="Juniper")

    phone.goto(stop.get_absolute_url())
    shown = phone.locator("#as-of").is_visible()
    phone.wait_for_function(IS_KEPT_WITH, arg=[stop.get_absolute_url(), "Juniper"])
    phone.goto("/horses/")
    tab = without_signal(phone)
    tab.goto(stop.get_absolute_url())

    assert shown is False
    assert "Juniper" in tab.locator("main").inner_text()  # the newest one that was seen is kept


def test_the_kept_page_opens_while_the_book_takes_its_time(phone, monkeypatch):
    may_answer, usual = threading.Event(), round_views.day_round

    def late(*args):
        assert may_answer.wait(60)
        return usual(*args)

    monkeypatch.setattr(round_views, "day_round", late)
    try:
        phone.goto(ROUND)
        assert phone.locator("#as-of").is_visible()
    finally:
        may_answer.set()


def test_what_was_said_after_saving_is_not_said_again_by_the_kept_page(phone, stop):
    phone.goto(stop.get_absolute_url())
    phone.get_by_text("Change", exact=True).click()
    phone.get_by_role("button", name="Later").click()
    phone.locator(".message").wait_for()
    tab = without_signal(phone)

    tab.goto(ROUND)

    assert (tab.locator("#as-of").is_visible(), tab.locator(".message").count()) == (True, 0)


def test_logging_out_deletes_what_is_kept(phone):
    before = len(kept_on(phone)["there"])

    phone.goto(reverse("logins"))
    phone.get_by_role("button", name="Log out", exact=True).first.click()
    phone.wait_for_url("**/login/**")
    tab = without_signal(phone)
    tab.goto(ROUND)

    assert (before > 5, kept_on(phone)["there"]) == (True, [])
    assert "not kept" in tab.title().lower()


def test_a_login_that_was_ended_deletes_what_is_kept_as_soon_as_the_phone_hears_of_it(phone):
    Session.objects.all().delete()

    phone.goto("/horses/")
    phone.wait_for_url("**/login/**")

    assert kept_on(phone)["there"] == []


def test_a_login_that_was_ended_while_pages_are_fetched_deletes_them(phone):
    Session.objects.all().delete()

    phone.evaluate("navigator.serviceWorker.controller.postMessage(true)")
    wait_until(phone, lambda kept: kept["login"] is None)


def test_another_login_finds_nothing_of_the_one_before(phone, live_server, django_user_model):
    first = kept_on(phone)["login"]
    other = django_user_model.objects.create_user("apprentice", password="six nails a shoe")
    phone.context.add_cookies([{**session_cookie(other), "url": live_server.url}])

    phone.goto("/round/")
    wait_until(phone, lambda kept: kept["isDone"] and kept["login"] != first)
    texts = phone.evaluate(
        "async () => Promise.all((await (await caches.open('pages')).matchAll()).map((each) => each.text()))"
    )

    assert texts
    assert [text for text in texts if first in text] == []


def test_what_is_kept_can_be_looked_at_deleted_and_fetched_again(phone):
    phone.goto(reverse("phone-kept"))
    sum_, rows = phone.locator("#kept-sum"), phone.locator("[data-page]")
    count = len(kept_pages(DAY))
    phone.get_by_text(f"{count} of {count} pages").wait_for()
    findings, first = axe(phone), rows.first.inner_text()

    phone.get_by_role("button", name="Delete them").click()
    phone.get_by_text(f"0 of {count} pages, 0.0 MB").wait_for()
    phone.goto("/round/")
    phone.goto(reverse("phone-kept"))
    phone.get_by_text(f"0 of {count} pages, 0.0 MB").wait_for()  # it stays so until it is asked for
    phone.get_by_role("button", name="Get fresh copies").click()
    phone.get_by_text(f"{count} of {count} pages").wait_for()

    assert first.startswith("As of ")
    assert sum_.inner_text().endswith(" MB")
    assert (findings, phone.problems) == ([], [])


def leave_room(page, server: str, more: int) -> None:
    """Let the browser keep so many more bytes for the program, and no others."""
    room = 0
    if page.url.startswith(server):
        room = page.evaluate("navigator.storage.estimate().then(({ usage }) => usage)")
    devtools = page.context.new_cdp_session(page)
    devtools.send("Storage.overrideQuotaForOrigin", {"origin": server, "quotaSize": room + more})


def test_a_phone_without_room_says_so_and_goes_on_with_signal(phone, live_server):
    leave_room(phone, live_server.url, 10_000)

    phone.evaluate("navigator.serviceWorker.controller.postMessage(true)")
    wait_until(phone, lambda kept: kept["isFull"])
    phone.goto(reverse("phone-kept"))
    phone.get_by_text("This phone has no room for the rest.").wait_for()
    phone.goto("/round/")

    assert "Next: " in phone.locator("main").inner_text()


def test_without_room_for_the_program_it_works_as_long_as_there_is_signal(open_page, user, stop, live_server):
    page = open_page(*PHONE, user=user, service_workers="allow")
    leave_room(page, live_server.url, 1)

    page.goto("/round/")
    page.goto(reverse("phone-kept"))
    page.get_by_text(f"0 of {len(kept_pages(DAY))} pages, 0.0 MB").wait_for()

    assert page.evaluate("navigator.serviceWorker.controller") is None


def test_without_service_workers_it_works_as_long_as_there_is_signal(open_page, user, stop):
    page = open_page(*PHONE, user=user)
    page.add_init_script("Object.defineProperty(Navigator.prototype, 'serviceWorker', { value: undefined })")

    page.goto(reverse("phone-kept"))
    said = page.locator("#kept-sum").inner_text()
    page.goto("/round/")

    assert said == "This browser keeps no pages."
    assert "Next: " in page.locator("main").inner_text()
    assert page.problems == []


# An entry as js/queue.js keeps it, by hand: the store is the phone's, not the worker's.
RECORD = """() => new Promise((resolve) => {
  const asked = indexedDB.open("of a test");
  asked.onupgradeneeded = () => asked.result.createObjectStore("entries");
  asked.onsuccess = () => {
    const change = asked.result.transaction("entries", "readwrite");
    change.objectStore("entries").put("Trim, Juno", 1);
    change.oncomplete = resolve;
  };
})"""
RECORDED = """() => new Promise((resolve) => {
  const asked = indexedDB.open("of a test");
  asked.onsuccess = () => {
    const read = asked.result.transaction("entries").objectStore("entries").get(1);
    read.onsuccess = () => resolve(read.result);
  };
})"""


def test_another_program_takes_over_without_touching_a_form_or_what_was_recorded(phone, stop, settings):
    before = kept_on(phone)["stamp"]
    phone.goto(reverse("practice:finding-add", args=[stop.pk, Horse.objects.get(name="Juno").pk]))
    phone.locator("textarea").first.fill("Looks short on the left fore.")
    phone.evaluate(RECORD)
    phone.evaluate("window.opened = true")
    settings.VERSION = "another"

    phone.evaluate("""async () => {
      const { serviceWorker } = navigator;
      const taken = new Promise((resolve) => serviceWorker.addEventListener("controllerchange", resolve));
      await (await serviceWorker.ready).update();
      await taken;
    }""")
    typed = phone.locator("textarea").first.input_value()
    is_same_page = phone.evaluate("window.opened")
    phone.evaluate("navigator.serviceWorker.controller.postMessage(true)")
    wait_until(phone, lambda kept: kept["stamp"] != before and kept["caches"] == 2)  # the old program is gone

    assert (typed, is_same_page) == ("Looks short on the left fore.", True)
    assert phone.evaluate(RECORDED) == "Trim, Juno"
    tab = without_signal(phone)
    tab.goto(ROUND)
    assert tab.evaluate("getComputedStyle(document.querySelector('h1')).fontFamily").startswith(
        '"Fjalla One"'
    )
