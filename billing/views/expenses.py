"""Expenses: what was spent, what is due again, and the receipts."""

from datetime import date
from functools import partial

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from billing.actions.expenses import (
    book_repeating,
    change_expense,
    record_expense,
    remove_expense,
)
from billing.actions.receipts import CONTENT_TYPES, receipt_file
from billing.forms.expenses import ExpenseForm
from billing.models import Expense, RepeatingExpense
from billing.models.expense import CATEGORIES
from billing.reports.expenses import known_vendors, lately_used, proposed_expenses
from billing.reports.turnover import spent_in
from billing.rules.vehicle_costs import OF_A_VEHICLE
from billing.tables.spending import ExpenseTable
from practice.actions.visits import only_vehicle
from practice.lib.addresses import day_of, id_of, search_words
from practice.lib.pages import GET_OR_POST
from practice.lib.periods import tax_year_around
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import do, form_page, list_page
from practice.lib.today import today

FORM = "billing/expenses/form.html"
# Where nothing is booked yet: what a round costs most often. Common practice, no source.
USUAL = ["vehicle fuel", "parking and tolls", "supplies", "tools and equipment"]
BUTTONS, VENDORS = 4, 40


@require_GET
def expense_list(request: HttpRequest) -> HttpResponse:
    """Expenses, the latest first; what is due again comes before them."""
    profile, now = Profile.for_request(request), today()
    rows = Expense.objects.for_list().named(search_words(request))
    context = {
        "spent": spent_in(tax_year_around(now, profile.country)),
        "proposals": proposed_expenses(now),
        "buttons": lately_used(BUTTONS) or USUAL,
        "search": "Paid to or category",
        "here": "money",
    }
    return list_page(request, ExpenseTable(rows), "billing/expenses/list.html", **context)


@GET_OR_POST
def expense_add(request: HttpRequest) -> HttpResponse:
    """Add an expense; the address may name a category, or a repeating expense and the day it is due."""
    asked = request.GET.get("category", "")
    initial = {"date": today(), "category": asked if asked in CATEGORIES else ""}
    repeating, due = asked_proposal(request)
    if repeating:
        initial |= {name: getattr(repeating, name) for name in ("category", "amount", "vendor", "note")}
        initial |= {"date": due, "vehicle": repeating.vehicle_id}

    def save(form):
        data = expense_data(form)
        data["on"] = data.pop("date")
        if repeating:
            return book_repeating(repeating, due, **data)
        return record_expense(**data, uuid=row_uuid(request))

    return form_page(
        request,
        partial(ExpenseForm, initial=initial),
        heading=f"{repeating}, due again" if repeating else "New expense",
        back=(reverse("billing:expense-list"), "Expenses"),
        save=save,
        template=FORM,
        vendors=known_vendors(VENDORS),
    )


def asked_proposal(request: HttpRequest) -> tuple[RepeatingExpense | None, date | None]:
    """Return the repeating expense and the day that the address names; (None, None) where it names none.

    Raises Http404 where there is no such expense, or no such day.
    """
    if "again" not in request.GET:
        return None, None
    due = day_of(request.GET.get("due", ""))
    return get_object_or_404(RepeatingExpense, pk=id_of(request.GET["again"])), due


def expense_data(form: ExpenseForm) -> dict:
    """Return what was typed; a vehicle's cost goes to the only vehicle where there is just one."""
    data = dict(form.cleaned_data)
    if data["category"] in OF_A_VEHICLE and data["vehicle"] is None:
        data["vehicle"] = only_vehicle()
    return data


@GET_OR_POST
def expense_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change an expense, or delete it."""
    expense = get_object_or_404(Expense, pk=pk)

    def save(form):
        return change_expense(expense, **form.cleaned_data)

    return form_page(
        request,
        partial(ExpenseForm, row=expense),
        heading=f"{expense.get_category_display()}",
        back=(reverse("billing:expense-list"), "Expenses"),
        save=save,
        template=FORM,
        vendors=known_vendors(VENDORS),
        expense=expense,
        more_acts=[{"url": reverse("billing:expense-remove", args=[pk]), "label": "Delete"}],
    )


@require_POST
def expense_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Delete an expense with its receipt."""
    expense = get_object_or_404(Expense, pk=pk)
    then = reverse("billing:expense-list")
    return do(request, remove_expense, expense, message="Expense deleted.", then=then)


@require_GET
def expense_receipt(request: HttpRequest, pk: int) -> HttpResponse:
    """The receipt of an expense: a photo or a PDF."""
    expense = get_object_or_404(Expense.objects.exclude(receipt=""), pk=pk)
    path = receipt_file(expense.receipt)
    if not path.is_file():
        raise Http404
    response = HttpResponse(path.read_bytes(), content_type=CONTENT_TYPES[path.suffix])
    name = f"receipt {expense.date.isoformat()}{path.suffix}"
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response
