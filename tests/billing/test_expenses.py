"""Expenses: booked, changed, taken out; and those that repeat."""

import uuid
from datetime import date
from decimal import Decimal

import pytest

from billing.actions.expenses import (
    book_repeating,
    change_expense,
    record_expense,
    remove_expense,
    skip_repeating,
)
from billing.actions.receipts import receipt_file
from billing.models import Expense
from billing.reports.expenses import lately_used, proposed_expenses
from billing.reports.turnover import spent_in
from billing.rules.repeating import unanswered
from practice.lib.errors import RuleBroken
from practice.lib.periods import tax_year
from practice.lib.profile import Profile
from tests.factories.billing import ExpenseFactory, RepeatingExpenseFactory
from tests.factories.practice import DAY, ProfileFactory, VehicleFactory
from tests.pictures import PDF, photo

pytestmark = pytest.mark.django_db
D = Decimal


def row_of(expense: Expense) -> tuple:
    names = ("date", "category", "amount", "vendor", "vehicle_id", "note")
    return Expense.objects.values_list(*names).get(pk=expense.pk)


def test_an_expense_is_booked_once_however_often_it_is_sent():
    truck, key = VehicleFactory(), uuid.uuid4()
    sent = {"vendor": "Crossroads Fuel", "vehicle": truck, "note": "full", "uuid": key}

    rows = [record_expense(DAY, "vehicle fuel", D("48.20"), **sent) for _ in range(2)]

    assert rows[0] == rows[1] == Expense.objects.get()
    assert row_of(rows[0]) == (DAY, "vehicle fuel", D("48.20"), "Crossroads Fuel", truck.pk, "full")


@pytest.mark.parametrize(("amount", "code"), [("0", "amount_zero"), ("1.005", "amount_too_fine")])
def test_an_amount_that_cannot_be_is_refused(amount, code):
    with pytest.raises(RuleBroken) as refusal:
        record_expense(DAY, "office", D(amount))

    assert refusal.value.code == code
    assert not Expense.objects.exists()


def test_an_expense_of_a_closed_day_takes_the_first_open_day():
    ProfileFactory(closed_through=date(2025, 12, 31))

    expense = record_expense(date(2025, 12, 30), "office", D("5.00"), note="stamps")

    note = "stamps\nPaid on 2025-12-30, a day already closed."
    assert row_of(expense) == (date(2026, 1, 1), "office", D("5.00"), "", None, note)


@pytest.fixture
def folder(settings, tmp_path):
    """A data folder of the test's own, and what lies in its receipts."""
    settings.DATA_DIR = tmp_path

    def names():
        kept = tmp_path / "receipts"
        return sorted(path.name for path in kept.iterdir()) if kept.exists() else []

    return names


def test_a_receipt_is_kept_with_its_expense(folder):
    expense = record_expense(DAY, "office", D("5.00"), receipt=PDF)

    assert folder() == [expense.receipt]
    assert receipt_file(expense.receipt).read_bytes() == PDF


def test_a_new_receipt_takes_the_place_of_the_old_one(folder, django_capture_on_commit_callbacks):
    expense = record_expense(DAY, "office", D("5.00"), receipt=PDF)

    with django_capture_on_commit_callbacks(execute=True):
        changed = change_expense(expense, receipt=photo())

    assert folder() == [changed.receipt] != [expense.receipt]


def test_a_receipt_that_another_expense_has_too_stays(folder, django_capture_on_commit_callbacks):
    first = record_expense(DAY, "office", D("5.00"), receipt=PDF)
    second = record_expense(DAY, "supplies", D("5.00"), receipt=PDF)

    with django_capture_on_commit_callbacks(execute=True):
        remove_expense(first)
    left = folder()
    with django_capture_on_commit_callbacks(execute=True):
        change_expense(second, drop_receipt=True)

    assert (left, folder()) == ([second.receipt], [])
    assert Expense.objects.get().receipt == ""


def test_an_expense_of_a_closed_day_stands_but_takes_its_receipt(folder):
    expense = ExpenseFactory(date=date(2025, 12, 30))
    ProfileFactory(closed_through=date(2025, 12, 31))

    for wrong in ({"amount": D("1.00")}, {"date": DAY}):
        with pytest.raises(RuleBroken, match="closed for good"):
            change_expense(expense, **wrong)
    with pytest.raises(RuleBroken, match="closed for good"):
        remove_expense(expense)
    change_expense(expense, amount=D("48.20"), receipt=PDF)

    assert row_of(expense) == (date(2025, 12, 30), "vehicle fuel", D("48.20"), "", None, "")
    assert folder() == [Expense.objects.get().receipt]


def test_an_expense_cannot_be_moved_into_closed_days():
    expense = ExpenseFactory()
    ProfileFactory(closed_through=date(2025, 12, 31))

    with pytest.raises(RuleBroken, match="2025-12-31 is closed for good"):
        change_expense(expense, date=date(2025, 12, 31))

    assert Expense.objects.get().date == DAY


def test_what_went_out_is_added_up_within_a_period():
    for day, amount in ((date(2025, 12, 31), "1"), (date(2026, 1, 1), "2.50"), (date(2026, 12, 31), "-0.25")):
        ExpenseFactory(date=day, amount=D(amount))

    assert spent_in(tax_year(2026, "US")).sum == D("2.25")


def test_the_categories_used_most_come_first():
    for category in ("office", "meals", "office", "vehicle fuel"):
        ExpenseFactory(category=category)

    assert lately_used(2) == ["office", "meals"]


def test_what_repeats_is_due_on_its_day_or_the_last_of_a_shorter_month():
    due = unanswered(date(2026, 1, 31), 1, None, None, date(2026, 4, 30))

    assert due == [date(2026, 1, 31), date(2026, 2, 28), date(2026, 3, 31), date(2026, 4, 30)]
    assert unanswered(date(2026, 1, 31), 3, date(2026, 4, 29), None, date(2027, 1, 1)) == [date(2026, 1, 31)]
    assert unanswered(date(2026, 1, 31), 12, None, date(2026, 1, 31), date(2026, 12, 31)) == []


def proposals(on: date) -> list[tuple]:
    return [(proposal.expense.amount, proposal.due, proposal.more) for proposal in proposed_expenses(on)]


def test_what_is_due_is_proposed_and_nothing_is_booked_by_itself():
    RepeatingExpenseFactory()
    RepeatingExpenseFactory(amount=D("118.00"), every="quarter", valid_from=date(2026, 1, 3))
    RepeatingExpenseFactory(valid_from=date(2026, 4, 1))

    assert proposals(date(2026, 3, 31)) == [
        (D("118.00"), date(2026, 1, 3), 0),
        (D("46.50"), date(2026, 1, 31), 2),
    ]
    assert not Expense.objects.exists()


def test_keeping_a_proposal_books_it_once_and_goes_on_to_the_next():
    repeating = RepeatingExpenseFactory()
    due = date(2026, 1, 31)
    typed = {"on": date(2026, 2, 2), "category": "utilities", "amount": D("47.10"), "vendor": "Ember"}

    rows = [book_repeating(repeating, due, **typed) for _ in range(2)]

    assert rows[0] == rows[1] == Expense.objects.get()
    assert row_of(rows[0]) == (date(2026, 2, 2), "utilities", D("47.10"), "Ember", None, "")
    assert proposals(date(2026, 2, 28)) == [(D("46.50"), date(2026, 2, 28), 0)]


def test_a_proposal_can_be_left_out():
    repeating = RepeatingExpenseFactory()

    skip_repeating(repeating, date(2026, 1, 31))

    assert (proposals(date(2026, 2, 27)), Expense.objects.count()) == ([], 0)


def test_a_day_that_is_answered_or_not_due_is_refused():
    repeating = RepeatingExpenseFactory()
    skip_repeating(repeating, date(2026, 1, 31))
    typed = {"on": DAY, "category": "utilities", "amount": D("46.50")}

    with pytest.raises(RuleBroken, match="already booked or skipped"):
        book_repeating(repeating, date(2026, 1, 31), **typed)
    with pytest.raises(RuleBroken, match="is not due on 2026-02-27"):
        book_repeating(repeating, date(2026, 2, 27), **typed)

    assert not Expense.objects.exists()


def test_a_proposal_whose_amount_is_refused_stays_proposed():
    repeating = RepeatingExpenseFactory()

    with pytest.raises(RuleBroken, match="above 0"):
        book_repeating(repeating, date(2026, 1, 31), on=DAY, category="utilities", amount=D(0))

    assert proposals(date(2026, 1, 31)) == [(D("46.50"), date(2026, 1, 31), 0)]
    assert not Profile.objects.exists()
