"""Facts of an item recorded by hand: in, counted, out, moved; and a fact undone."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from practice.lib.pages import GET_OR_POST
from practice.lib.things import do, form_page
from practice.lib.today import today
from stock.actions.movements import (
    count_item,
    receive_item,
    return_to_supplier,
    transfer_item,
    undo_fact,
    waste_item,
    withdraw_item,
)
from stock.forms.facts import CountForm, DeliveryForm, OutForm, TransferForm
from stock.models import Item, Movement
from stock.tables import Causes


@dataclass(frozen=True)
class FactPage:
    """A page that records one fact of an item: its form, its action, and its words. `{}` is the item."""

    form: type
    action: Callable
    heading: str
    save_label: str
    lead: str = ""


PAGES = {
    "receive": FactPage(DeliveryForm, receive_item, "Receive {}", "Receive"),
    "count": FactPage(CountForm, count_item, "Count {}", "Save the count"),
    "transfer": FactPage(TransferForm, transfer_item, "Move {}", "Move", "It keeps its cost."),
    "waste": FactPage(OutForm, waste_item, "Write off {}", "Write off", "Spoiled, bent, burned or lost."),
    "withdraw": FactPage(
        OutForm,
        withdraw_item,
        "Use {} on your own horses",
        "Save",
        "It costs what a use on a visit would, and may be taxable. Ask a licensed tax preparer.",
    ),
    "return": FactPage(
        OutForm,
        return_to_supplier,
        "Return {} to the supplier",
        "Return",
        "It leaves stock at its cost in the book.",
    ),
}


@GET_OR_POST
def item_fact(request: HttpRequest, pk: int, page: str) -> HttpResponse:
    """Record a fact of an item."""
    item, kind = get_object_or_404(Item, pk=pk), PAGES[page]
    make = partial(kind.form, item=item, initial={"date": today(), "supplier": item.supplier_id})

    def save(form):
        data = dict(form.cleaned_data)
        quantity, on = data.pop("quantity"), data.pop("date")
        return kind.action(item, quantity, on=on, **data)

    return form_page(
        request,
        make,
        heading=kind.heading.format(item),
        lead=kind.lead,
        back=(item.get_absolute_url(), str(item)),
        save=save,
        save_label=kind.save_label,
    )


@GET_OR_POST
def fact_reverse(request: HttpRequest, pk: int, causes: Causes) -> HttpResponse:
    """Look at a fact once more, and undo it."""
    movement = get_object_or_404(Movement.objects.for_detail(), pk=pk)
    back = movement.item.get_absolute_url()
    if request.method == "POST":
        return do(request, undo_fact, movement, message="Undone.", then=back)
    context = {
        "fact": movement,
        "cause": causes({movement.job} - {""}).get(movement.job),
        "rows": movement.valuations.select_related("location").order_by("position"),
        "back_url": back,
    }
    return render(request, "stock/undo.html", context)
