"""Repeating expenses: their list, and skipping one that is due."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from billing.actions.expenses import skip_repeating
from billing.forms.expenses import RepeatingExpenseForm
from billing.models import RepeatingExpense
from billing.reports.turnover import repeating_on
from billing.tables.spending import RepeatingExpenseTable
from practice.lib.addresses import day_of
from practice.lib.pages import GET_OR_POST
from practice.lib.things import do, form_page, list_page
from practice.lib.today import today


@require_GET
def repeating_list(request: HttpRequest) -> HttpResponse:
    """Repeating expenses, in order of entry."""
    table = RepeatingExpenseTable(RepeatingExpense.objects.order_by("pk"))
    context = {"repeating": repeating_on(today()), "here": "money"}
    return list_page(request, table, "billing/expenses/repeating.html", **context)


@GET_OR_POST
def repeating_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """Change a repeating expense, or add one."""
    row = get_object_or_404(RepeatingExpense, pk=pk) if pk else None
    initial = None if row else {"valid_from": today(), "every": RepeatingExpense.Every.MONTH}
    return form_page(
        request,
        partial(RepeatingExpenseForm, instance=row, initial=initial),
        heading=f"{row}" if row else "New repeating expense",
        lead="You are reminded when it is due. Nothing is booked until you save it.",
        back=(reverse("billing:repeating-list"), "Repeating expenses"),
    )


@require_POST
def repeating_skip(request: HttpRequest, pk: int) -> HttpResponse:
    """Book nothing for the day that the form names."""
    row = get_object_or_404(RepeatingExpense, pk=pk)
    due = day_of(request.POST.get("due", ""))
    then = reverse("billing:expense-list")
    return do(request, skip_repeating, row, due, message=f"{row} skipped this time.", then=then)
