"""A press counts once: every form and button of every page, sent again as it was, adds nothing more."""

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta
from decimal import Decimal
from threading import Barrier, Thread

import pytest
from django.apps import apps
from django.contrib.messages import get_messages
from django.db import connection, transaction
from django.test import Client as Browser
from django.urls import resolve
from django.utils import timezone

from billing.actions.crediting import issue_credit_note
from billing.actions.horse_changes import Recording
from billing.actions.invoicing import close_days
from billing.actions.life_events import record_elsewhere
from billing.actions.merging import merge
from billing.actions.payments import record_payment
from billing.models import Price
from practice.actions.visits import complete_visit
from practice.lib.presses import new_press
from practice.lib.profile import Profile
from practice.models import Client, FindEntry, FindNote, PhoneEntry, Press, Stamp
from practice.project.furnish import furnish
from practice.project.sent_forms import KEPT_FOR, SAVED_BEFORE
from stock.actions.counting import TypedCount, save_counts
from stock.actions.movements import receive_item
from tests.conftest import session_cookie
from tests.factories.billing import InvoiceFactory
from tests.factories.mail import MailSettingsFactory
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    LegFactory,
    MaterialUseFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
    owned_horse,
    trim,
)
from tests.factories.stock import ItemFactory, LocationFactory, receipt
from tests.forms_of_pages import PageForm, forms_of
from tests.practice.test_expected_use import done
from tests.walk import address, book_of_all_pages, pages, routes

D = Decimal
WEEK = timedelta(weeks=1)
# What is typed into a field that is blank, by its name without the key of a row.
TYPED = {
    **dict.fromkeys(["name", "vendor", "reason", "note", "source", "kind"], "Something new"),
    **dict.fromkeys(["amount", "price", "unit_price", "unit_cost", "cost", "distance", "rate"], "2"),
    **dict.fromkeys(["placed_in_service", "valid_from"], "2026-09-01"),
    "quantity": "1",
    "packs": "1",
    "last": "84300",
    "first": "0",
    "found": "3",
    "to": "ann@barn.example",
    "purpose": "personal",
    "category": "supplies",
    "new_owner": "Petra Quill",
    "minutes": "20",
    "tier_from": "9000",
    "told_who": "Ann",
}
CHOSEN = ("category", "client", "kind", "place", "purpose", "thing", "whose")


def of(part: str, names: str) -> set[str]:
    return {f"{part}:{name}" for name in names.split()}


# Every form that adds to the book of the walk.
ADDS = (
    {"bring-in-now", "bring-in-book-now", "phone-settle-entry"}
    | of(
        "practice",
        "client-add finding-add gap-fill horse-add horse-owners leg-add leg-change odometer-change place-add"
        " service-add sign-add sign-change vehicle-add vehicle-replace visit-as-last-time visit-feet"
        " visit-horse-add visit-plan",
    )
    | of(
        "stock",
        "count-sheet item-add item-count item-receive item-return item-transfer item-waste item-withdraw"
        " location-add order-add order-receive supplier-add valuation-list",
    )
    | of(
        "billing",
        "bill-to-add charge-add credit-note-send dispute-add equipment-add estimated-add expense-add"
        " invoice-send invoice-share item-prices message-again message-arrived mileage-rate-add order-send"
        " payment-add payment-bounce payment-change receipt-send refund-add repeating-add special-price-add"
        " statement-send statement-share tax-rate-add visit-charge-add",
    )
)
# What needs more than the book of the walk; a test below presses it.
PRESSED_BELOW = (
    of("practice", "horse-plan item-why leg-take load-list plan visit-horse visit-return")
    | of("stock", "count-post fact-reverse")
    | of(
        "billing",
        "close-day close-send credit-note-add deposit-add early-discount late-fees price-rise reminder-list"
        " service-prices visit-again",
    )
    | of("billing", "client-merge horse-merge item-merge merge-undo")
    | of("billing", "client-leave horse-answer horse-elsewhere life-event-undo")
    | of("billing", "horse-away horse-died horse-move horse-retire horse-sell")
    | {"begin", "own-book"}  # the second in test_own_book.py
    | {"phone-settle-form"}  # in phone/test_settling.py
    | of("practice", "photo-add prescription-add")  # in test_photos.py and test_prescriptions.py
)
# What adds nothing: it takes something back that another press did, closes a year, or sets something.
ADDS_NOTHING = (
    {"bring-in-file", "bring-in-book", "bring-in-check"}  # a file is kept beside the book, and looked at
    | {"own-book"}  # takes the place of the demo
    | of("practice", "odometer-undo visit-horse-remove visit-reopen")
    | of("stock", "receipt-take-back valuation-take-back")
    | of(
        "billing",
        "deposit-undo dispute-settle link-end mail-settings message-take-back message-text message-text-reset"
        " visit-again visit-again-undo warning-right year-close year-open",
    )
    | {"begin-put-away"}
)
# Forms of the login, of phones and of this device; a test message; the pack, which answers with a file
# (test_pack.py); what makes a backup, puts one in place of the book, or is kept beside it
# (test_backup_pages.py).
NOT_SAVED_ONCE = {
    *("login", "logins", "logout", "password", "practice:sun", "billing:mail-test", "billing:year-pack"),
    *("phones", "phone-pair"),  # test_pairing_pages.py
    *("backup-now", "backup-restore", "backup-folder"),
    "phone-entries",  # a phone's entries, each saved once (project/phone/test_entries.py)
}


# What is no row of the practice: presses, a phone's entries, and what is worked out of its rows so that they
# are found.
BESIDE = (Press, PhoneEntry, FindEntry, FindNote, Stamp)


def rows() -> dict[str, int]:
    """Return how many rows each table of the book has."""
    parts = [apps.get_app_config(name) for name in ("practice", "stock", "billing")]
    models = [model for part in parts for model in part.get_models() if model not in BESIDE]
    counts = [f"SELECT '{model._meta.db_table}', COUNT(*) FROM {model._meta.db_table}" for model in models]
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(counts))
        return dict(cursor.fetchall())


def filled_in(form: PageForm, choose: dict[str, str]) -> dict[str, list[str]]:
    """Return what is sent: blank fields filled in, and the first button pressed."""
    sent = {name: [form.choices[name][0]] for name in form.choices.keys() - form.fields.keys()}
    for name, values in form.fields.items():
        typed = choose.get(name, TYPED.get(name.rstrip("0123456789").removesuffix("_"), ""))
        if name in form.choices and (not typed or typed not in form.choices[name]):
            typed = form.choices[name][-1] if name in CHOSEN else ""
        is_blank = values == [""] or name in choose
        sent[name] = [typed] if is_blank else values
    for name, value in form.buttons[:1]:
        sent |= {name: [value]} if name else {}
    return sent


def press_twice(browser, path: str, sent: dict) -> list[tuple]:
    """Send a form twice as it is; return how each was answered and the rows of the book then."""
    answers = []
    for _ in range(2):
        answer = browser.post(path, sent)
        answers.append(((answer.status_code, answer.headers.get("Location")), rows()))
    return answers


def named(path: str) -> str:
    """Return the name of an address: `practice:client-add`."""
    return resolve(path.partition("?")[0]).view_name


def forms_to_press(browser, examples) -> Iterator[tuple[str, PageForm]]:
    """Give the name and form of everything that can be sent from the pages of the book."""
    for part in ("root", "practice", "stock", "billing"):
        for path in pages(browser, examples, part):
            for form in forms_of(browser.get(path).content.decode(), path):
                if "/~/" not in path and named(form.action) not in NOT_SAVED_ONCE:
                    yield named(form.action), form


def takes_posts(browser, path: str) -> bool:
    return "POST" in browser.generic("PROPFIND", path).headers.get("Allow", "")


@pytest.mark.slow
@pytest.mark.django_db
def test_every_form_of_every_page_sent_twice_adds_once_and_answers_alike(browser, settings):
    settings.TODAY = DAY
    examples = book_of_all_pages()
    choose = {"to_location": str(LocationFactory(name="The shop").pk)}
    MailSettingsFactory()
    before, pressed = sum(rows().values()), list(forms_to_press(browser, examples))

    added, saved, otherwise = set(), set(), []
    for name, form in pressed:
        with transaction.atomic():
            first, second = press_twice(browser, form.action, filled_in(form, choose))
            transaction.set_rollback(True)
        otherwise += [] if second == first else [(name, form.action, first, second)]
        added |= {name} if sum(first[1].values()) > before else set()
        saved |= {name} if first[0][0] == 302 else set()

    assert otherwise == []
    assert added - PRESSED_BELOW == ADDS
    assert {name for name, _ in pressed} - saved <= PRESSED_BELOW | ADDS_NOTHING
    taking = {
        f"{part}:{name}".removeprefix("root:")
        for part, route, name in routes()
        if route != "login/" and takes_posts(browser, address(route, examples))
    }
    assert taking - {name for name, _ in pressed} <= PRESSED_BELOW | ADDS_NOTHING | NOT_SAVED_ONCE


def a_round(browser) -> tuple[str, dict]:
    """All drives of a round whose distances are known."""
    truck, barn = VehicleFactory(), PlaceFactory(name="Barn")
    for origin, destination in (("Home", "Barn"), ("Barn", "Home")):
        LegFactory(vehicle=truck, date=DAY - 6 * WEEK, origin=origin, destination=destination)
    VisitFactory(place=barn, vehicle=truck, status="done")
    return f"/round/{DAY}/legs/{truck.pk}/take/", {"drive": "all"}


def a_day_to_close(browser) -> tuple[str, dict]:
    trim()
    return f"/close/{DAY}/", {}


def checks_to_deposit(browser) -> tuple[str, dict]:
    return "/deposits/add/", {"date": DAY, "payments": record_payment(ClientFactory(), DAY, D(5), "check").pk}


def a_shoe_to_order(browser) -> tuple[str, dict]:
    shoe, horse = ItemFactory(pack_size=D(4)), HorseFactory()
    for times in (1, 2, 3):
        done(horse, DAY - 6 * times * WEEK, (shoe, 4))
    return "/truck/plan/", {"item": shoe.pk}


def a_reason_to_order(browser) -> tuple[str, dict]:
    _, typed = a_shoe_to_order(browser)
    return f"/items/{typed['item']}/why/", {}


def a_load_from_the_shop(browser) -> tuple[str, dict]:
    truck, shop = LocationFactory(name="Truck"), LocationFactory(name="Shop")
    vehicle, shoe, horse = VehicleFactory(location=truck), ItemFactory(), HorseFactory()
    receipt(shoe, "4", on=DAY - 7 * WEEK)
    done(horse, DAY - 6 * WEEK, (shoe, 4))
    receive_item(shoe, D(8), D(1), on=DAY - WEEK, location=shop)
    VisitFactory(place=horse.place, date=DAY + timedelta(1), vehicle=vehicle)
    return f"/load/{DAY + timedelta(1)}/", {"take": f"{vehicle.pk}-{shoe.pk}"}


def a_horse_at_a_visit(browser) -> tuple[str, dict]:
    visit, service = VisitFactory(), ServiceFactory()
    url = visit.horse_url(HorseFactory(place=visit.place))
    [form] = [form for form in forms_of(browser.get(url).content.decode(), url) if form.action == url]
    return url, filled_in(form, {}) | {"work": service.pk, f"quantity_{service.pk}": "1"}


def a_visit_that_gave_back(browser) -> tuple[str, dict]:
    use = MaterialUseFactory(quantity=D(4), visit__date=DAY - WEEK)
    receipt(use.item, "10")
    complete_visit(use.visit)
    url = f"/visits/{use.visit.pk}/return/"
    [form] = [form for form in forms_of(browser.get(url).content.decode(), url) if form.action == url]
    blank = {name: ["1"] for name in form.fields if name.startswith("back_")}
    return url, filled_in(form, {}) | blank


def an_early_payment(browser) -> tuple[str, dict]:
    Profile.objects.update(early_discount_percent=D(2), early_discount_days=10)
    trim()
    [invoice] = close_days(DAY, DAY, DAY).invoices
    record_payment(invoice.client, DAY, D(49), "cash")
    return f"/invoices/{invoice.pk}/early-discount/", {}


def a_fact_to_undo(browser) -> tuple[str, dict]:
    shoe = ItemFactory()
    receipt(shoe, "10")
    return f"/facts/{shoe.movements.get().pk}/take-back/", {}


def a_credit_note(browser) -> tuple[str, dict]:
    trim()
    [invoice] = close_days(DAY, DAY, DAY).invoices
    url = f"/invoices/{invoice.pk}/credit/"
    typed = {"what": "all", "reason": "goodwill", "date": DAY, "note": ""}
    [form, *_] = [
        form for form in forms_of(browser.post(url, typed).content.decode(), url) if form.action == url
    ]
    return url, typed | {"seen": form.fields["seen"]}


def a_day_to_send(browser) -> tuple[str, dict]:
    MailSettingsFactory()
    InvoiceFactory(client__email="ann@barn.example")
    return f"/close/{DAY}/send/", {}


def a_reminder_to_send(browser) -> tuple[str, dict]:
    MailSettingsFactory()
    late = InvoiceFactory(client__email="ann@barn.example", issued=DAY - 12 * WEEK)
    return "/money/reminders/", {"invoice": late.pk}


def a_late_fee(browser) -> tuple[str, dict]:
    Profile.objects.update(late_fee=10)
    late = InvoiceFactory(issued=DAY - 12 * WEEK)
    return "/money/late-fees/", {"fee": f"late-fee/{late.number}"}


def a_credited_visit(browser) -> tuple[str, dict]:
    visit = trim(on=DAY - WEEK).visit
    [invoice] = close_days(visit.date, visit.date, DAY).invoices
    issue_credit_note(invoice, DAY)
    return f"/visits/{visit.pk}/bill-again/", {}


def a_price_to_set(browser) -> tuple[str, dict]:
    return f"/services/{ServiceFactory().pk}/prices/", {"since": DAY, "price": "60"}


def a_price_rise(browser) -> tuple[str, dict]:
    service = ServiceFactory()
    Price.objects.create(service=service, valid_from=DAY - WEEK, price=D(50))
    typed = {"since": DAY, "percent": "4", "step": "1", f"service_{service.pk}": "on"}
    [form, *_] = forms_of(browser.post("/services/raise/", typed).content.decode(), "/services/raise/")
    return form.action, typed | {"seen": form.fields["seen"]}


def a_count_to_post(browser) -> tuple[str, dict]:
    shoe = ItemFactory()
    receipt(shoe, "10")
    save_counts(None, DAY, {shoe: TypedCount(D(7))})
    return "/counts/0/post/", {}


def two_clients(browser) -> tuple[str, dict]:
    return f"/clients/{ClientFactory().pk}/merge/?other={ClientFactory().pk}", {}


def two_horses(browser) -> tuple[str, dict]:
    return f"/horses/{HorseFactory().pk}/merge/?other={HorseFactory().pk}", {}


def two_items(browser) -> tuple[str, dict]:
    return f"/items/{ItemFactory().pk}/merge/?other={ItemFactory().pk}", {}


def seen(browser, url: str, typed: dict) -> tuple[str, dict]:
    """What is sent once what follows was shown."""
    page = browser.post(url, typed).content.decode()
    [form] = [form for form in forms_of(page, url) if form.action == url]
    return url, typed | {"seen": form.fields["seen"]}


def a_horse_sold(browser) -> tuple[str, dict]:
    typed = {"date": DAY, "buyer": ClientFactory().pk, "note": ""}
    return seen(browser, f"/horses/{owned_horse().pk}/sell/", typed)


def a_horse_to_plan(browser) -> tuple[str, dict]:
    return f"/horses/{owned_horse().pk}/plan/", {"date": DAY + WEEK}


def a_horse_moved(browser) -> tuple[str, dict]:
    typed = {"date": DAY, "place": PlaceFactory().pk, "note": ""}
    return seen(browser, f"/horses/{owned_horse().pk}/move/", typed)


def a_horse_away(browser) -> tuple[str, dict]:
    return seen(browser, f"/horses/{owned_horse().pk}/away/", {"date": DAY, "note": ""})


def a_horse_retired(browser) -> tuple[str, dict]:
    return seen(browser, f"/horses/{owned_horse().pk}/retire/", {"date": DAY, "note": ""})


def a_horse_that_died(browser) -> tuple[str, dict]:
    return seen(browser, f"/horses/{owned_horse().pk}/died/", {"date": DAY, "note": ""})


def a_client_who_leaves(browser) -> tuple[str, dict]:
    owner = owned_horse().owners.get()
    typed = {"date": DAY, f"horse_{owner.horse_id}": "goes", "note": ""}
    return seen(browser, f"/clients/{owner.client_id}/leave/", typed)


def a_horse_done_elsewhere(browser) -> tuple[str, dict]:
    return f"/horses/{owned_horse().pk}/elsewhere/", {"date": DAY, "note": ""}


def a_horse_asked_about(browser) -> tuple[str, dict]:
    return f"/horses/{owned_horse().pk}/answer/", {"kind": "retired"}


def an_event_to_undo(browser) -> tuple[str, dict]:
    noon = datetime.combine(DAY, time(12), UTC)
    event = record_elsewhere(owned_horse(), DAY, "", Recording("", noon, DAY))
    return f"/life-events/{event.pk}/undo/", {}


def a_merge_to_undo(browser) -> tuple[str, dict]:
    noon = datetime.combine(DAY, time(12), UTC)
    record = merge(PlaceFactory(), PlaceFactory(), by="", at=noon, today=DAY)
    return f"/merges/{record.pk}/undo/", {}


def a_client_to_begin_with(browser) -> tuple[str, dict]:
    return "/begin/", {"step": "clients", "client": "Petra Quill", "horse_1": "Juniper"}


@pytest.mark.django_db
@pytest.mark.parametrize(
    "ready",
    [
        a_client_to_begin_with,
        two_clients,
        two_horses,
        two_items,
        a_merge_to_undo,
        a_horse_sold,
        a_horse_moved,
        a_horse_to_plan,
        a_horse_away,
        a_horse_retired,
        a_horse_that_died,
        a_horse_done_elsewhere,
        a_horse_asked_about,
        a_client_who_leaves,
        an_event_to_undo,
        a_round,
        checks_to_deposit,
        a_day_to_close,
        a_shoe_to_order,
        a_reason_to_order,
        a_load_from_the_shop,
        a_horse_at_a_visit,
        a_visit_that_gave_back,
        a_count_to_post,
        a_fact_to_undo,
        an_early_payment,
        a_price_to_set,
        a_price_rise,
        a_credited_visit,
        a_day_to_send,
        a_reminder_to_send,
        a_late_fee,
        a_credit_note,
    ],
)
def test_a_button_pressed_twice_adds_once(browser, settings, ready):
    settings.TODAY = DAY
    ProfileFactory()
    path, typed = ready(browser)
    before = rows()

    first, second = press_twice(browser, path, typed | {"uuid": new_press()})

    assert (first[0][0], second) == (302, first)
    assert first[1] != before
    assert named(path) in PRESSED_BELOW


@pytest.mark.django_db
@pytest.mark.parametrize(
    "ready",
    [
        a_round,
        a_day_to_close,
        a_shoe_to_order,
        a_reason_to_order,
        a_load_from_the_shop,
        a_count_to_post,
        a_fact_to_undo,
        a_day_to_send,
        a_reminder_to_send,
        a_late_fee,
        a_credited_visit,
    ],
)
def test_a_button_without_fields_pressed_on_two_devices_adds_once(browser, settings, ready):
    settings.TODAY = DAY
    ProfileFactory()
    path, typed = ready(browser)
    before = rows()

    browser.post(path, typed | {"uuid": new_press()})
    after = rows()
    browser.post(path, typed | {"uuid": new_press()})

    assert rows() == after != before


@pytest.mark.django_db
def test_the_row_takes_the_uuid_of_the_form_and_one_that_was_changed_since_gets_its_own(browser):
    ProfileFactory()
    typed = {"name": "Petra Quill", "billing": "per_day", "uuid": new_press()}

    browser.post("/clients/add/", typed)
    browser.post("/clients/add/", typed | {"name": "Ann Thorpe"})

    taken = {client.name: client.uuid.hex == typed["uuid"] for client in Client.objects.all()}
    assert taken == {"Petra Quill": True, "Ann Thorpe": False}


@pytest.mark.django_db
def test_a_row_that_has_the_uuid_already_is_what_the_form_added(browser):
    """The presses of a book stay behind when it is exported and imported, the UUIDs of its rows do not."""
    ProfileFactory()
    typed = {"name": "Petra Quill", "billing": "per_day", "uuid": new_press()}
    first = browser.post("/clients/add/", typed)
    Press.objects.all().delete()

    second = browser.post("/clients/add/", typed)

    assert (second.url, Client.objects.count()) == (first.url, 1)


@pytest.mark.django_db
def test_presses_are_forgotten_when_no_device_keeps_their_forms(browser):
    begin = timezone.now() - KEPT_FOR
    for days in (-1, 1):
        Press.objects.create(uuid=new_press(), at=begin + timedelta(days))

    furnish()

    assert [press.at for press in Press.objects.all()] == [begin + timedelta(1)]


def at_once(user, path: str, sent: dict, times: int = 4) -> list[tuple]:
    """Send a form several times at the same moment; return the answers and what each said."""
    cookie, ready, answers = session_cookie(user), Barrier(times), []

    def send():
        browser = Browser(raise_request_exception=False)
        browser.cookies[cookie["name"]] = cookie["value"]
        ready.wait()
        try:
            answer = browser.post(path, sent)
            said = [str(message) for message in get_messages(answer.wsgi_request)]
            answers.append((answer.status_code, answer.headers.get("Location"), said == [SAVED_BEFORE]))
        finally:
            connection.close()

    threads = [Thread(target=send) for _ in range(times)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sorted(answers, key=lambda answer: answer[2])


def a_new_client() -> tuple[str, dict]:
    return "/clients/add/", {"name": "Petra Quill", "billing": "per_day"}


def a_new_payment() -> tuple[str, dict]:
    payer = ClientFactory()
    return f"/clients/{payer.pk}/payments/add/", {"date": DAY, "amount": "20", "method": "cash"}


def a_new_fact() -> tuple[str, dict]:
    shoe = ItemFactory()
    receipt(shoe, "10")
    return f"/items/{shoe.pk}/waste/", {"date": DAY, "quantity": "1"}


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("ready", [a_new_client, a_new_payment, a_new_fact])
def test_what_arrives_several_times_at_once_is_saved_once_and_all_are_answered_alike(
    settings, django_user_model, ready
):
    settings.TODAY = DAY
    ProfileFactory()
    user = django_user_model.objects.create_user("farrier")
    path, typed = ready()
    before = rows()

    first, *others = at_once(user, path, typed | {"uuid": new_press()})

    assert (first[0], first[2]) == (302, False)
    assert others == [(302, first[1], True)] * 3
    added = {table: n - before[table] for table, n in rows().items() if n != before[table]}
    assert set(added.values()) == {1}
