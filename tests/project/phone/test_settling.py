"""What a phone recorded and the book could not take is settled by one press, and nothing is billed twice."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.messages import get_messages
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.utils import timezone

from billing.actions.invoicing import close_days
from billing.models import Charge, Invoice, Payment, Price
from practice.actions.visits import cancel_visit, complete_visit
from practice.lib.profile import Profile
from practice.models import Client, Finding, Horse, PhoneEntry, Visit, Work
from practice.project.phone.taking import kept_file
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    LegFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
)
from tests.forms_of_pages import forms_of
from tests.project.phone.phones import answers_to, recorded, send

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture(autouse=True)
def today(settings):
    settings.TODAY = DAY
    ProfileFactory()


@pytest.fixture
def trimming():
    service = ServiceFactory(name="Trim")
    Price.objects.create(service=service, valid_from=DAY - timedelta(400), price=D(50))
    return service


@pytest.fixture
def stop(trimming):
    """A stop at a barn with two horses of one owner; the work on the first is saved."""
    barn, owner = PlaceFactory(name="High Barn"), ClientFactory(name="Petra Quill")
    visit = VisitFactory(date=DAY, place=barn)
    for name in ("Juno", "Bramble"):
        OwnerFactory(horse=HorseFactory(name=name, place=barn), client=owner)
    WorkFactory(visit=visit, horse=Horse.objects.get(name="Juno"), service=trimming)
    return visit


def horse_entry(browser, visit, name, service) -> dict:
    """What a phone records when a service is tapped and saved on the horse's page as it is now."""
    url = visit.horse_url(Horse.objects.get(name=name))
    [form] = [form for form in forms_of(browser.get(url).content.decode(), url) if form.action == url]
    fields = {name: values for name, values in form.fields.items() if name != "csrfmiddlewaretoken"}
    fields |= {"work": [service.pk], f"quantity_{service.pk}": ["1"]}
    fields.pop("uuid")
    return recorded(url, f"{name} at {visit.place}", **fields)


def to_settle() -> list[tuple[str, str]]:
    return [(entry.title, entry.code) for entry in PhoneEntry.objects.to_settle()]


def press(browser, how: str, entry: PhoneEntry | None = None) -> list[str]:
    """Press a button of an entry, the first one where none is named; return what the next page says."""
    entry = entry or PhoneEntry.objects.to_settle().first()
    answer = browser.post(f"/phone/settle/{entry.pk}/", {"how": how})
    return [str(message) for message in get_messages(answer.wsgi_request)]


def page_of(browser) -> str:
    entry = PhoneEntry.objects.to_settle().first()
    return browser.get(f"/phone/settle/{entry.pk}/").content.decode()


def billed() -> list[tuple[str, Decimal]]:
    return [(invoice.number[-4:], invoice.total) for invoice in Invoice.objects.order_by("number")]


def close_the_day():
    return close_days(DAY, DAY, DAY)


def test_what_is_odd_is_saved_by_one_press(browser):
    ClientFactory(name="Petra Quill")
    send(browser, recorded("/clients/add/", "New client", name="Petra Quill", billing="per_day"))

    page = page_of(browser)
    said = press(browser, "save")

    assert "Another client is named Petra Quill too. Is this a second one?" in page
    assert "Save it now" in page
    assert said == ["Saved."]
    assert Client.objects.filter(name="Petra Quill").count() == 2
    assert to_settle() == []


def test_what_someone_else_changed_is_saved_over_by_one_press(browser, stop, trimming):
    pads = ServiceFactory(name="Pads")
    Price.objects.create(service=pads, valid_from=DAY - timedelta(400), price=D(9))
    entry = horse_entry(browser, stop, "Bramble", trimming)
    WorkFactory(visit=stop, horse=Horse.objects.get(name="Bramble"), service=pads)

    assert answers_to(browser, entry) == [("to settle", "changed")]
    page = page_of(browser)
    press(browser, "save")

    assert [words in page for words in ("<dd>Trim", "<dd>Pads")] == [True, True]
    assert [work.service for work in Work.objects.filter(horse__name="Bramble")] == [trimming]


def test_the_form_opens_as_it_was_recorded_and_settles_the_entry_when_it_is_saved(browser):
    send(browser, recorded("/clients/add/", "New client", name="", phone="555-0100", billing="per_day"))
    url = f"/phone/settle/{PhoneEntry.objects.get().pk}/form/"

    shown = browser.get(url).content.decode()
    refused = browser.post(url, {"name": "", "phone": "555-0199", "billing": "per_day"})
    typed = {"name": "Petra Quill", "phone": "555-0100", "billing": "per_day", "uuid": "a1" * 16}
    answers = [browser.post(url, typed).url for _ in range(2)]

    assert answers == ["/phone/settle/"] * 2
    assert 'value="555-0100"' in shown
    assert 'value="555-0199"' in refused.content.decode()
    petra, entry = Client.objects.get(), PhoneEntry.objects.get()
    assert (petra.name, petra.phone, petra.uuid) == ("Petra Quill", "555-0100", entry.uuid)
    assert (entry.state, entry.settled_how, entry.fields) == ("settled", "changed", [])


def test_what_waits_for_another_entry_goes_along_with_it(browser):
    visit = VisitFactory(date=DAY)
    horse = recorded("/horses/add/", "New horse Bramble", name="", cycle_weeks="6", status="active")
    path = f"/visits/{visit.pk}/horses/~{horse['uuid']}/finding/"
    send(browser, horse, recorded(path, "Finding", foot="LF", zone="sole", kind="red sole"))
    first = PhoneEntry.objects.get(code="form_errors")

    browser.post(
        f"/phone/settle/{first.pk}/form/", {"name": "Bramble", "cycle_weeks": "6", "status": "active"}
    )

    assert to_settle() == []
    assert Finding.objects.get().horse == Horse.objects.get(name="Bramble")


@pytest.mark.parametrize("rule", ["none", "per_visit", "per_distance", "round_trip", "minimum"])
def test_work_that_came_after_the_invoice_is_billed_on_one_further_one(browser, stop, trimming, rule):
    if rule == "minimum":
        Profile.objects.update(minimum_call=D(80))
    elif rule != "none":
        Profile.objects.update(travel_rule=rule, travel_rate=D(2))
    stop.vehicle = VehicleFactory()
    stop.save()
    LegFactory(vehicle=stop.vehicle, date=DAY, visit=stop, distance=D(10))
    LegFactory(vehicle=stop.vehicle, date=DAY, purpose="business", visit=None, distance=D(10))
    entries = [horse_entry(browser, stop, "Bramble", trimming)]
    complete_visit(stop)
    close_the_day()
    before = billed()

    assert answers_to(browser, *entries) == [("to settle", "visit_fixed")]
    page = page_of(browser)
    said = press(browser, "further")
    close_the_day()
    again = close_the_day()

    travel = {"none": 0, "per_visit": 2, "per_distance": 20, "round_trip": 40, "minimum": 30}[rule]
    assert before == [("0001", D(50 + travel))]
    assert "Bill it as a further stop" in page
    assert said == ["Saved as a further stop."]
    assert billed() == [*before, ("0002", D(50))]
    assert again.invoices == []
    assert [(visit.place, visit.date, visit.status) for visit in Visit.objects.order_by("pk")] == [
        (stop.place, DAY, "done")
    ] * 2
    assert [work.horse.name for work in Work.objects.order_by("pk")] == ["Juno", "Bramble"]
    assert to_settle() == []


def test_all_work_of_a_stop_goes_along_on_one_further_stop(browser, stop, trimming):
    OwnerFactory(horse=HorseFactory(name="Sorrel", place=stop.place), client=Client.objects.get())
    entries = [horse_entry(browser, stop, name, trimming) for name in ("Bramble", "Sorrel")]
    complete_visit(stop)
    close_the_day()
    send(browser, *entries)

    page = page_of(browser)
    press(browser, "further")
    close_the_day()

    assert "1 other entry of this stop will go along." in page
    assert billed() == [("0001", D(50)), ("0002", D(100))]
    assert to_settle() == []


def test_work_of_a_stop_that_was_invoiced_after_it_came_is_billed_on_a_further_one(browser, stop, trimming):
    entry = horse_entry(browser, stop, "Bramble", trimming)
    complete_visit(stop)
    close_the_day()
    send(browser, entry)
    PhoneEntry.objects.update(code="asks")

    page = page_of(browser)
    press(browser, "further")

    assert "will go along" not in page
    assert [work.horse.name for work in Work.objects.order_by("pk")] == ["Juno", "Bramble"]
    assert to_settle() == []


@pytest.mark.django_db(transaction=True)
def test_the_page_of_an_entry_of_an_invoiced_stop_needs_no_lock(browser, stop, trimming):
    entry = horse_entry(browser, stop, "Bramble", trimming)
    complete_visit(stop)
    close_the_day()
    send(browser, entry)

    assert "Bill it as a further stop" in page_of(browser)


def test_work_of_a_day_that_is_closed_for_good_is_billed_on_the_first_open_day(browser, stop, trimming):
    entry = horse_entry(browser, stop, "Bramble", trimming)
    complete_visit(stop)
    close_the_day()
    Profile.objects.update(closed_through=DAY)

    assert answers_to(browser, entry) == [("to settle", "day_closed")]
    press(browser, "further")

    further = Visit.objects.last()
    assert (further.date, further.status) == (DAY + timedelta(1), "done")
    assert further.note == f"For {DAY}, a day already closed."


def test_work_of_a_canceled_stop_plans_it_again(browser, stop, trimming):
    entry = horse_entry(browser, stop, "Bramble", trimming)
    cancel_visit(stop)

    assert answers_to(browser, entry) == [("to settle", "visit_cancelled")]
    assert press(browser, "again") == ["The stop is planned again. Saved."]

    stop.refresh_from_db()
    assert (stop.status, stop.work.count()) == ("planned", 2)


def test_what_is_discarded_can_be_taken_back_for_a_day(browser):
    send(browser, recorded("/clients/add/", "New client", name="", billing="per_day"))
    entry = PhoneEntry.objects.get()

    press(browser, "discard")
    gone, shown = to_settle(), browser.get("/phone/settle/").content.decode()
    press(browser, "undo", entry)
    back = to_settle()
    press(browser, "discard")
    PhoneEntry.objects.update(settled_at=timezone.now() - timedelta(days=1, minutes=1))
    late = press(browser, "undo", entry)

    assert (gone, back) == ([], [("New client", "form_errors")])
    assert "Discarded in the last 24 hours" in shown
    assert late[-1:] == ["This was discarded more than a day ago, so it cannot be undone."]
    assert to_settle() == []


def test_what_was_settled_on_another_device_is_not_saved_again(browser):
    ClientFactory(name="Petra Quill")
    send(browser, recorded("/clients/add/", "New client", name="Petra Quill", billing="per_day"))
    entry = PhoneEntry.objects.get()

    press(browser, "save")
    second = press(browser, "save", entry)

    assert second[-1] == "This was settled already."
    assert Client.objects.count() == 2


def test_a_file_is_kept_until_its_entry_is_settled(browser):
    payer = ClientFactory()
    path = f"/clients/{payer.pk}/payments/add/"
    entry = recorded(path, "Payment", date=DAY, amount="", method="cash") | {"files": ["receipt"]}
    file = SimpleUploadedFile("check.jpg", b"a photo", "image/jpeg")
    send(browser, entry, files={f"{entry['uuid']}.0": file})
    kept = PhoneEntry.objects.get()

    [[field, here, name]] = kept.files
    before = (field, name, kept_file(here).read_bytes())
    picture = browser.get(f"/phone/settle/{kept.pk}/pictures/1/")
    browser.post(f"/phone/settle/{kept.pk}/form/", {"date": DAY, "amount": "20", "method": "cash"})

    assert before == ("receipt", "check.jpg", b"a photo")
    assert picture.status_code == 404
    assert [payment.amount for payment in Payment.objects.all()] == [D(20)]
    assert not Charge.objects.exists()
    assert PhoneEntry.objects.get().files == []


def test_an_export_says_what_it_leaves_out(browser, tmp_path, capsys):
    send(browser, recorded("/clients/add/", "New client", name="", billing="per_day"))

    call_command("export_book", str(tmp_path / "book"))

    assert "1 phone entry is still to settle, so not in the book yet and not in this export." in (
        capsys.readouterr().err
    )
