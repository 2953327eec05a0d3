"""The pages of expenses, of those that repeat, and of tools and equipment."""

import re
from datetime import date
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from billing.actions.receipts import receipt_file
from billing.models import Equipment, Expense, RepeatingExpense
from tests.factories.billing import EquipmentFactory, ExpenseFactory, RepeatingExpenseFactory
from tests.factories.practice import DAY, ProfileFactory, VehicleFactory
from tests.pictures import PDF, opened, telephone_photo

pytestmark = pytest.mark.django_db
D = Decimal
LIST, ADD = "/expenses/", "/expenses/add/"


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA_DIR, settings.TODAY = tmp_path, DAY


def send(browser, address=ADD, **typed):
    form = {"amount": "48.20", "category": "vehicle fuel", "date": DAY.isoformat()}
    return browser.post(address, form | typed)


def booked() -> list[tuple]:
    return list(
        Expense.objects.order_by("pk").values_list("date", "category", "amount", "vendor", "vehicle", "note")
    )


def test_an_expense_is_written_down_with_amount_and_category(browser):
    truck = VehicleFactory()

    answer = send(browser)

    assert answer.headers["Location"] == LIST
    assert booked() == [(DAY, "vehicle fuel", D("48.20"), "", truck.pk, "")]


def test_what_is_not_a_vehicles_is_not_put_on_the_only_vehicle(browser):
    VehicleFactory()

    send(browser, category="office")

    assert booked() == [(DAY, "office", D("48.20"), "", None, "")]


def test_with_two_vehicles_none_is_guessed(browser):
    VehicleFactory()
    VehicleFactory()

    send(browser)

    assert booked() == [(DAY, "vehicle fuel", D("48.20"), "", None, "")]


def test_sending_the_same_form_twice_books_once(browser):
    [key, *_] = re.findall('name="uuid" value="(.*?)"', browser.get(ADD).content.decode())

    for _ in range(2):
        send(browser, uuid=key)

    assert len(booked()) == 1


def test_a_button_of_the_list_fills_in_the_category(browser):
    page = browser.get(f"{ADD}?category=parking+and+tolls").content.decode()

    assert '<option value="parking and tolls" selected>' in page


@pytest.mark.parametrize(
    ("typed", "field", "error"),
    [
        ({"amount": ""}, "amount", "This cannot be blank."),
        ({"amount": "0"}, "amount", "Enter an amount above 0, such as 48.20, or below 0 for money back."),
        ({"amount": "4.125"}, "amount", "Type a number with at most 2 decimals, such as 48.20."),
        ({"category": ""}, "category", "This cannot be blank."),
        (
            {"receipt": SimpleUploadedFile("bill.pdf", b"MZ\x90")},
            "receipt",
            "This is neither a photo (JPEG or PNG) nor a PDF.",
        ),
    ],
)
def test_what_does_not_fit_is_said_beside_its_field(browser, typed, field, error):
    answer = send(browser, **typed)

    assert answer.context["form"].errors == {field: [error]}
    assert booked() == []


def test_a_photo_is_kept_upright_without_what_the_telephone_wrote_into_it(browser):
    send(browser, receipt=SimpleUploadedFile("IMG_1.HEIC", telephone_photo((60, 40)), "image/heic"))

    answer = browser.get(reverse("billing:expense-receipt", args=[Expense.objects.get().pk]))

    kept = opened(answer.content)
    assert (kept.size, dict(kept.getexif())) == ((40, 60), {})
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


def test_a_pdf_is_shown_as_it_was_sent(browser):
    send(browser, receipt=SimpleUploadedFile("bill.jpg", PDF))

    answer = browser.get(reverse("billing:expense-receipt", args=[Expense.objects.get().pk]))

    assert (answer.headers["Content-Type"], answer.content) == ("application/pdf", PDF)


def test_a_receipt_that_is_not_there_is_not_found(browser):
    without, gone = ExpenseFactory(), ExpenseFactory(receipt="0" * 32 + ".jpg")

    statuses = [
        browser.get(reverse("billing:expense-receipt", args=[row.pk])).status_code for row in (without, gone)
    ]

    assert statuses == [404, 404]


def test_a_receipt_is_private(client):
    address = reverse("billing:expense-receipt", args=[ExpenseFactory(receipt="0" * 32 + ".jpg").pk])

    assert client.get(address).headers["Location"] == f"/login/?next={address}"


def test_a_changed_expense_keeps_its_receipt_unless_it_is_taken_away(browser):
    send(browser, receipt=SimpleUploadedFile("bill.pdf", PDF))
    expense = Expense.objects.get()
    path = receipt_file(expense.receipt)

    send(browser, expense.get_absolute_url(), amount="50.00")
    kept = (Expense.objects.get().receipt, path.exists())
    send(browser, expense.get_absolute_url(), amount="50.00", drop_receipt="on")

    assert kept == (expense.receipt, True)
    assert booked() == [(DAY, "vehicle fuel", D("50.00"), "", None, "")]
    assert Expense.objects.get().receipt == ""


def test_a_rule_that_says_no_stands_on_the_form_with_what_was_typed(browser):
    expense = ExpenseFactory(date=date(2025, 12, 30))
    ProfileFactory(closed_through=date(2025, 12, 31))

    answer = send(browser, expense.get_absolute_url(), amount="50.00")

    assert answer.context["form"].non_field_errors() == [
        "2025-12-30 is closed for good: nothing dated through 2025-12-31 can be added, changed, or deleted."
    ]
    assert 'value="50.00"' in answer.content.decode()


def test_an_expense_is_taken_out_of_the_book(browser):
    expense = ExpenseFactory()

    answer = browser.post(reverse("billing:expense-remove", args=[expense.pk]))

    assert (answer.headers["Location"], booked()) == (LIST, [])


def test_a_vehicle_in_the_archive_stays_on_its_expense(browser):
    truck = VehicleFactory(archived=True)
    expense = ExpenseFactory(vehicle=truck)

    send(browser, expense.get_absolute_url(), vehicle=truck.pk, note="changed")

    assert booked() == [(DAY, "vehicle fuel", D("48.20"), "", truck.pk, "changed")]


def test_the_line_of_schedule_c_stands_over_a_category_in_the_united_states_only(browser):
    practice = ProfileFactory(country="US")
    ExpenseFactory(category="meals")

    shown = []
    for practice.country in ("US", "GB"):
        practice.save()
        shown.append(groups_of(browser.get(f"{LIST}?sort=category")))

    assert [heading for [(heading, _)] in shown] == ["Meals (Schedule C: 24b)", "Meals"]


def groups_of(answer) -> list[tuple]:
    """Return each heading of a list's page with its rows."""
    return list(answer.context["table"].groups())


def test_the_list_adds_up_the_tax_year_and_finds_by_who_was_paid(browser):
    ProfileFactory(country="GB", currency="GBP", locale="en-GB")
    ExpenseFactory(date=date(2026, 4, 5), vendor="Ember Telephone")
    ExpenseFactory(date=date(2026, 4, 6), vendor="Crossroads Fuel")

    answer = browser.get(f"{LIST}?q=crossroads")

    assert "1 expense this tax year, £48.20." in answer.content.decode()
    assert [row.record.vendor for row in answer.context["table"].rows] == ["Crossroads Fuel"]


def test_what_is_due_again_is_looked_at_and_kept(browser):
    repeating = RepeatingExpenseFactory(vendor="Ember Telephone", note="line 2")
    address = f"{ADD}?again={repeating.pk}&due=2026-01-31"
    assert f'href="{address}"'.replace("&", "&amp;") in browser.get(LIST).content.decode()
    form = browser.get(address).context["form"]

    for _ in range(2):
        browser.post(address, {**form.initial, "vehicle": "", "date": "2026-01-31", "amount": "47.00"})

    assert booked() == [(date(2026, 1, 31), "utilities", D("47.00"), "Ember Telephone", None, "line 2")]
    assert RepeatingExpense.objects.get().answered_through == date(2026, 1, 31)


def test_what_is_due_again_is_left_out_by_its_button(browser):
    repeating = RepeatingExpenseFactory()
    address = reverse("billing:repeating-leave-out", args=[repeating.pk])

    answer = browser.post(address, {"due": "2026-01-31"})

    assert answer.headers["Location"] == LIST
    assert (booked(), RepeatingExpense.objects.get().answered_through) == ([], date(2026, 1, 31))


@pytest.mark.parametrize("query", ["again=999&due=2026-01-31", "again=x&due=2026-01-31", "again=1&due=soon"])
def test_an_address_of_nothing_that_is_due_is_not_found(browser, query):
    assert browser.get(f"{ADD}?{query}").status_code == 404


def test_what_repeats_is_written_down_and_ended(browser):
    form = {"amount": "118.00", "category": "insurance", "every": "quarter", "valid_from": "2026-01-03"}

    browser.post("/repeating-expenses/add/", form)
    row = RepeatingExpense.objects.get()
    browser.post(row.get_absolute_url(), form | {"valid_to": "2026-12-31"})

    assert list(
        RepeatingExpense.objects.values_list("amount", "category", "every", "valid_from", "valid_to")
    ) == [(D("118.00"), "insurance", "quarter", date(2026, 1, 3), date(2026, 12, 31))]


def test_a_tool_is_written_down_and_goes(browser):
    form = {"name": "Anvil", "placed_in_service": "2024-03-01", "cost": "640.00"}

    browser.post("/equipment/add/", form)
    thing = Equipment.objects.get()
    browser.post(thing.get_absolute_url(), form | {"disposed_on": "2026-05-02", "disposed_for": "120"})

    names = ("name", "placed_in_service", "cost", "disposed_on", "disposed_for")
    assert list(Equipment.objects.values_list(*names)) == [
        ("Anvil", date(2024, 3, 1), D("640.00"), date(2026, 5, 2), D("120.00"))
    ]


@pytest.mark.parametrize(
    ("typed", "errors"),
    [
        ({"disposed_on": "2024-02-01"}, {"disposed_on": ["This day is before it was in use."]}),
        ({"disposed_for": "5"}, {"disposed_on": ["Enter the day it was sold."]}),
        ({"cost": "-1"}, {"cost": ["Type a number of at least 0, such as 640.00."]}),
    ],
)
def test_a_tool_that_cannot_be_is_refused_beside_its_field(browser, typed, errors):
    thing = EquipmentFactory()
    form = {"name": "Anvil", "placed_in_service": "2024-03-01", "cost": "640.00"}

    answer = browser.post(thing.get_absolute_url(), form | typed)

    assert answer.context["form"].errors == errors
    assert Equipment.objects.get().name == thing.name
