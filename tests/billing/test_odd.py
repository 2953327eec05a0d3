"""What is possible but odd about money: the threshold, and the pages that ask once."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from billing.actions.payments import record_payment
from billing.models import Expense, Invoice, Payment, Price
from billing.rules.odd import times_owed
from tests.factories.billing import ExpenseFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, ServiceFactory
from tests.lib.test_asking import field_of

D = Decimal
amounts = st.decimals(min_value=-1000, max_value=10**6, places=2)


@given(amounts, amounts)
def test_far_above_what_is_owed_begins_at_ten_times(amount, owed):
    times = times_owed(amount, owed)

    assert (times is not None) == (owed > 0 and amount >= 10 * owed)
    assert times is None or times * owed <= amount < (times + 1) * owed


@pytest.fixture
def pages(browser, settings):
    settings.TODAY = DAY
    ProfileFactory()
    return browser


def questions(answer) -> list[str]:
    return [question for question, _ in answer.context["form"].questions]


def owing(amount: str):
    client = ClientFactory()
    Invoice.objects.create(
        number="2026-0001", client=client, issued=DAY, due=DAY, net=D(amount), tax=0, total=D(amount)
    )
    return client


@pytest.mark.django_db
def test_a_payment_of_forty_times_what_is_owed_is_asked_about_once(pages):
    client = owing("45")
    address = reverse("billing:payment-add", args=[client.pk])
    typed = {"date": DAY.isoformat(), "amount": "1800.00", "method": "check"}

    asked = pages.post(address, typed)
    other = pages.post(address, typed | {"amount": "18000.00", "right": field_of(asked, "right")})
    before = Payment.objects.count()
    pages.post(address, typed | {"right": field_of(asked, "right")})

    assert questions(asked) == ["That is 40 times what is owed. Is it right?"]
    assert questions(other) == ["That is 400 times what is owed. Is it right?"]
    assert (before, Payment.objects.get().amount) == (0, 1800)


@pytest.mark.django_db
def test_where_nothing_is_owed_a_payment_is_compared_with_what_the_client_usually_pays(pages):
    client = ClientFactory()
    record_payment(client, DAY, D(45), "cash")
    typed = {"date": DAY.isoformat(), "method": "check"}
    address = reverse("billing:payment-add", args=[client.pk])

    asked = pages.post(address, typed | {"amount": "4500"})
    saved = pages.post(address, typed | {"amount": "90"})

    assert questions(asked) == ["That is 100 times what this client usually pays. Is it right?"]
    assert saved.status_code == 302


@pytest.mark.django_db
def test_a_price_of_a_service_has_the_currencys_digits_and_is_asked_about_far_above_the_last(pages):
    service = ServiceFactory()
    Price.objects.create(service=service, valid_from=DAY - timedelta(90), price=D(145))
    address = reverse("billing:service-prices", args=[service.pk])

    fine = pages.post(address, {"since": DAY.isoformat(), "price": "145.005"})
    asked = pages.post(address, {"since": DAY.isoformat(), "price": "1595"})

    assert fine.context["form"].errors == {
        "price": ["Type a number with at most 2 decimals, such as 145.00."]
    }
    assert questions(asked) == ["That is 11 times the usual price. Is it right?"]
    assert Price.objects.count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("billing:expense-add", {"date": "", "amount": "5", "category": "supplies"}),
        ("billing:estimated-add", {"date": "", "amount": "5"}),
        ("billing:payment-add", {"date": "", "amount": "5", "method": "cash"}),
    ],
)
def test_money_that_moved_did_so_by_today(pages, name, typed):
    address = reverse(name, args=[ClientFactory().pk] if "payment-add" in name else [])

    answer = pages.post(address, typed | {"date": (DAY + timedelta(1)).isoformat()})

    day = DAY.isoformat()
    assert answer.context["form"].errors == {
        "date": [f"This day is still ahead. Type today, {day}, or an earlier day."]
    }


@pytest.mark.django_db
def test_an_expense_that_someone_else_changed_is_not_overwritten(pages):
    expense = ExpenseFactory(amount=D("48.20"), date=DAY, category="supplies")
    address = reverse("billing:expense-change", args=[expense.pk])
    typed = {"date": DAY.isoformat(), "category": "supplies", "amount": "48.25"}
    opened = field_of(pages.get(address), "opened")
    Expense.objects.update(amount=D(50), category="office")

    answer = pages.post(address, typed | {"opened": opened})

    clashes = [(row.label, row.saved, row.typed) for row in answer.context["form"].clashes]
    assert clashes == [
        ("Amount", "50.00", "48.25"),
        ("Category", "Office (Schedule C: 18)", "Supplies (Schedule C: 22)"),
    ]
    assert Expense.objects.get().amount == 50


@pytest.mark.django_db
def test_an_expense_far_above_the_usual_of_its_category_is_asked_about(pages):
    for days, amount in enumerate(("20", "30", "40", "50", "9000")):
        ExpenseFactory(amount=D(amount), date=DAY - timedelta(days), category="supplies")
    ExpenseFactory(amount=D(500), date=DAY - timedelta(366), category="supplies")
    ExpenseFactory(amount=D(1), date=DAY, category="office")
    address, typed = reverse("billing:expense-add"), {"date": DAY.isoformat(), "category": "supplies"}

    asked = pages.post(address, typed | {"amount": "400.01"})
    fewer = pages.post(address, typed | {"amount": "400.01", "category": "office"})
    fine = pages.post(address, typed | {"amount": "400.00"})
    before = Expense.objects.count()
    pages.post(address, typed | {"amount": "400.01", "right": field_of(asked, "right")})

    assert questions(asked) == ["That is 10 times the usual for supplies. Is it right?"]
    assert (fewer.status_code, fine.status_code, Expense.objects.count() - before) == (302, 302, 1)


@pytest.mark.django_db
def test_an_expense_that_was_right_is_not_asked_about_again(pages):
    for days in range(5):
        ExpenseFactory(amount=D(20), date=DAY - timedelta(days), category="supplies")
    row = ExpenseFactory(amount=D(900), date=DAY, category="supplies")
    address = reverse("billing:expense-change", args=[row.pk])
    typed = {"date": DAY.isoformat(), "category": "supplies", "amount": "900.00", "vendor": "Ironmonger"}

    saved, asked = pages.post(address, typed), pages.post(address, typed | {"amount": "920.00"})

    assert saved.status_code == 302
    assert questions(asked) == ["That is 46 times the usual for supplies. Is it right?"]
