"""A form is on the phone first, and reaches the book once, whatever becomes of tab and signal."""

import re

import pytest
from django.contrib.sessions.models import Session

from billing.actions.invoicing import close_days
from billing.models import Invoice, Price
from practice.models import Client, PhoneEntry, Work
from tests.conftest import PHONE, session_cookie
from tests.factories.practice import DAY, HorseFactory, OwnerFactory, ProfileFactory, trim

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
HERE = "Saved on this phone. It goes to the book when there is signal."
ENTRIES = """async () => {
  const { kept } = await import("/static/js/entries.js");
  const name = (fields) => Object.fromEntries(fields).name;
  return (await kept()).map(({ title, path, login, fields }) => [title, path, login, name(fields)]);
}"""

# The store of a slow phone: it is open only after `openStore()`.
SLOW_STORE = """{
  const open = IDBFactory.prototype.open;
  IDBFactory.prototype.open = function (...given) {
    const asked = {};
    window.openStore = () => {
      const request = open.apply(this, given);
      for (const name of ["onupgradeneeded", "onsuccess"])
        request[name] = (event) => { asked.result = request.result; asked[name](event); };
    };
    return asked;
  };
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


def until_sent(page, ask_again: bool = False):
    """Wait until the phone has nothing left to send; `ask_again`: it finds signal again and again."""
    for _ in range(600):
        if not entries_on(page):
            return
        if ask_again:
            page.evaluate("dispatchEvent(new Event('online'))")
        page.wait_for_timeout(100)
    pytest.fail(f"still on the phone: {entries_on(page)}")


def badge_of(page) -> str:
    page.locator("[data-count=here]").wait_for()
    return " ".join(page.locator("[data-count=here]").inner_text().split())


def record_without_signal(page, name="Petra Quill"):
    """Record a client while the server is not reached; the browser itself stays online."""
    type_a_client(page, name)
    page.route("**/phone/state/", lambda route: route.abort())
    save(page)
    page.get_by_text(HERE).wait_for()
    page.unroute("**/phone/state/")


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


def test_a_form_that_is_sent_before_the_store_is_open_is_recorded_all_the_same(phone):
    phone.add_init_script(SLOW_STORE)
    type_a_client(phone)
    phone.context.set_offline(True)

    phone.get_by_role("button", name="Save").evaluate("button => button.click()")
    phone.evaluate("openStore()")

    phone.get_by_text(HERE).wait_for()
    assert entries_on(phone) == [["New client", "/clients/add/", "farrier", "Petra Quill"]]


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


def test_two_tabs_send_what_both_recorded_once(phone):
    other = phone.context.new_page()
    record_without_signal(phone)
    record_without_signal(other, "Ann Thorpe")

    for page in (phone, other):
        page.evaluate("dispatchEvent(new Event('online'))")
    until_sent(phone)

    assert sorted(names()) == ["Ann Thorpe", "Petra Quill"]
    assert PhoneEntry.objects.filter(state="saved").count() == 2


def test_a_login_that_ended_leaves_what_waits_and_says_who_has_to_log_in(phone):
    type_a_client(phone)
    Session.objects.all().delete()

    save(phone)
    phone.get_by_text("Saved on this phone. Log in as farrier to send it to the book.").wait_for()
    phone.goto("/clients/")
    seen = badge_of(phone)
    phone.get_by_label("Name").fill("farrier")
    phone.get_by_label("Password").fill("six nails a shoe")
    phone.get_by_role("button", name="Log in").click()
    phone.wait_for_url("**/clients/")
    until_sent(phone)

    assert seen == "1 on this phone"
    assert names() == ["Petra Quill"]


def test_another_login_does_not_send_what_waits(phone, django_user_model):
    record_without_signal(phone)
    other = django_user_model.objects.create_user("helper", password="six nails a shoe")
    origin = phone.evaluate("location.origin")
    phone.context.clear_cookies()
    phone.context.add_cookies([{**session_cookie(other), "url": origin}])

    phone.goto("/phone/entries/")
    phone.get_by_text("Log in as farrier to send it.").wait_for()

    assert (names(), len(entries_on(phone))) == ([], 1)


def test_an_entry_is_deleted_from_the_phone_only_after_a_question(phone):
    record_without_signal(phone)
    phone.route("**/phone/state/", lambda route: route.abort())
    asked = []
    phone.goto("/phone/entries/")
    for answer in (False, True):
        phone.once("dialog", lambda d, a=answer: (asked.append(d.message), d.accept() if a else d.dismiss()))
        phone.get_by_role("button", name="Delete").click()
    until_sent(phone)

    assert asked == ["Delete “New client”? It is not in the book."] * 2
    assert (names(), entries_on(phone)) == ([], [])


def test_a_phone_without_room_says_so_and_keeps_what_was_typed(phone):
    type_a_client(phone)
    origin = phone.evaluate("location.origin")
    phone.context.new_cdp_session(phone).send(
        "Storage.overrideQuotaForOrigin", {"origin": origin, "quotaSize": 1}
    )
    phone.context.set_offline(True)

    save(phone)

    phone.get_by_text("Not saved: this phone has no room left. Make room, then tap again.").wait_for()
    assert phone.get_by_label("Name", exact=True).input_value() == "Petra Quill"


def test_where_the_browser_keeps_nothing_forms_go_plainly_as_before(phone):
    phone.add_init_script("Object.defineProperty(window, 'indexedDB', { value: undefined })")
    type_a_client(phone)

    save(phone)

    phone.wait_for_url(re.compile(r"/clients/\d+/$"))
    assert (names(), PhoneEntry.objects.count(), phone.problems) == (["Petra Quill"], 0, [])


def test_work_of_a_day_that_was_closed_on_the_desk_meanwhile_is_billed_by_one_press(phone):
    """The phone comes home: nothing is lost, nothing is billed twice."""
    work = trim(on=DAY)
    barn, owner, service = work.visit.place, work.horse.owners.get().client, work.service
    Price.objects.create(service=service, valid_from=DAY, price=50)
    juno = OwnerFactory(horse=HorseFactory(name="Juno", place=barn), client=owner).horse
    phone.goto(work.visit.horse_url(juno))
    phone.get_by_role("button", name=re.compile(f"^{service.name}")).first.click()
    phone.locator(".choice [aria-pressed=true]").wait_for()
    phone.locator("form:has(.choice)").evaluate("(form) => (form.dataset.entry = 'Juno')")
    phone.context.set_offline(True)
    phone.get_by_role("button", name="Save").last.click()
    phone.get_by_text(HERE).wait_for()
    close_days(DAY, DAY, DAY)

    phone.context.set_offline(False)
    until_sent(phone)
    phone.goto("/phone/settle/")
    phone.locator("a.row").click()
    phone.get_by_role("button", name="Bill it as a further stop").click()
    phone.get_by_text("Saved as a further stop.").wait_for()
    close_days(DAY, DAY, DAY)

    assert list(Invoice.objects.order_by("pk").values_list("total", flat=True)) == [50, 50]
    assert list(Work.objects.order_by("pk").values_list("horse", flat=True)) == [work.horse.pk, juno.pk]
    assert not PhoneEntry.objects.to_settle().exists()
