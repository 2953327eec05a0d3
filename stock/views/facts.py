"""Facts of an item typed by hand: in, found, out, moved; and a fact taken back."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from practice.lib.pages import GET_OR_POST
from practice.lib.things import do, form_page
from practice.lib.today import today
from stock.actions.movements import (
    count_item,
    receive_item,
    return_to_supplier,
    take_back,
    transfer_item,
    waste_item,
    withdraw_item,
)
from stock.forms.facts import CountForm, DeliveryForm, OutForm, TransferForm
from stock.models import Item, Movement
from stock.tables import Causes


@dataclass(frozen=True)
class FactPage:
    """A page that writes one fact of an item: its form, what does it, and what it says."""

    form: type
    action: Callable
    heading: str
    keep: str
    lead: str = ""


PAGES = {
    "receive": FactPage(DeliveryForm, receive_item, "A delivery of {}", "Take it in"),
    "count": FactPage(CountForm, count_item, "Count {}", "Keep the count"),
    "transfer": FactPage(
        TransferForm, transfer_item, "Move {}", "Move it", "Moved, not used: it keeps its cost."
    ),
    "waste": FactPage(OutForm, waste_item, "Waste of {}", "Write it off", "Spoiled, bent, burnt or lost."),
    "withdraw": FactPage(
        OutForm,
        withdraw_item,
        "{} for your own horses",
        "Take it out",
        "It costs what a use would, and may be taxed: ask a licensed tax preparer.",
    ),
    "return": FactPage(
        OutForm,
        return_to_supplier,
        "{} back to the supplier",
        "Send it back",
        "It leaves at its cost in the book.",
    ),
}


@GET_OR_POST
def item_fact(request: HttpRequest, pk: int, page: str) -> HttpResponse:
    """Write down a fact of an item."""
    item, kind = get_object_or_404(Item, pk=pk), PAGES[page]
    make = partial(kind.form, initial={"date": today()})
    if page == "receive":
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
        back=(reverse("stock:item-detail", args=[pk]), str(item)),
        save=save,
        save_label=kind.keep,
    )


@GET_OR_POST
def fact_reverse(request: HttpRequest, pk: int, causes: Causes) -> HttpResponse:
    """Look at a fact once more, and take it back."""
    movement = get_object_or_404(
        Movement.objects.select_related("item", "location", "to_location", "purchase__supplier"), pk=pk
    )
    back = reverse("stock:item-detail", args=[movement.item_id])
    if request.method == "POST":
        return do(request, take_back, movement, message="Taken back.", then=back)
    context = {
        "fact": movement,
        "cause": causes({movement.job} - {""}).get(movement.job),
        "rows": movement.valuations.select_related("location").order_by("position"),
        "back_url": back,
    }
    return render(request, "stock/take_back.html", context)
