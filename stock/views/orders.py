"""Orders: their list, one order, a new one, receiving and canceling; on paper and as CSV."""

from collections.abc import Callable
from decimal import Decimal
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from practice.lib import formats
from practice.lib.addresses import id_of, search_words
from practice.lib.pages import GET_OR_POST
from practice.lib.pdf import PdfUnavailable, render_pdf
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import do, form_page, list_page
from practice.lib.today import today
from stock.actions.movements import reverse_movements
from stock.actions.purchasing import (
    cancel_order_line,
    cancel_rest,
    change_order,
    expect_order,
    place_order,
    receive_order,
)
from stock.forms.orders import CancelForm, ExpectedForm, OrderForm, ReceiveForm
from stock.models import Item, Order, OrderLine, Purchase, Supplier
from stock.papers.orders import file_stem, order_csv, order_paper
from stock.reports.levels import on_hand
from stock.reports.orders import (
    DeliveryDifference,
    OrderSheet,
    delivery_difference,
    last_prices,
    on_order,
    order_sheet,
)
from stock.tables import OrderTable

CANCELED = "Canceled. Let the supplier know."


@require_GET
def order_list(request: HttpRequest) -> HttpResponse:
    """What is on order, then what was."""
    on_the_way = Order.objects.open().count()
    heading = (
        f"{formats.counted(on_the_way, 'order')} still to come." if on_the_way else "Nothing is on order."
    )
    return list_page(
        request,
        OrderTable(Order.objects.for_list().matching(search_words(request))),
        "stock/orders/list.html",
        heading=heading,
        search="Order number or supplier",
        here="truck",
    )


def _sheet(pk: int) -> OrderSheet:
    return order_sheet(get_object_or_404(Order.objects.select_related("supplier"), pk=pk))


@require_GET
def order_detail(request: HttpRequest, pk: int, mail: Callable) -> HttpResponse:
    """An order: what is still to come, what came, and the messages that `mail` gives."""
    sheet, profile = _sheet(pk), Profile.for_request(request)
    context = {
        "sheet": sheet,
        "expected": sheet.expected_in_words(today(), profile.locale),
        "mail": mail(sheet.order, profile, today()),
        "here": "truck",
    }
    return render(request, "stock/orders/detail.html", context)


@GET_OR_POST
def order_add(request: HttpRequest) -> HttpResponse:
    """A new order: first from whom, then what. `?supplier=`, blank: none; `?item=`: a pack of it."""
    suppliers = Supplier.objects.for_list()
    if request.method == "GET" and "supplier" not in request.GET and suppliers.exists():
        return render(request, "stock/orders/choose_supplier.html", {"suppliers": suppliers})
    prices, wanted = last_prices(), request.GET.get("item", "")
    items = list(Item.objects.current().in_order())
    lines = {item.pk: (1 if str(item.pk) == wanted else None, prices.get(item.pk)) for item in items}
    initial = {"date": today(), "lines": lines, "supplier": id_of(request.GET.get("supplier", ""))}

    def save(form):
        data = form.cleaned_data
        return place_order(
            data["supplier"], form.lines(), on=data["date"], note=data["note"], key=row_uuid(request)
        )

    return form_page(
        request,
        partial(OrderForm, items=items, initial=initial, on_hand=on_hand(), on_order=on_order(today())),
        heading="New order",
        back=(reverse("stock:order-list"), "Orders"),
        save=save,
        then=Order.get_absolute_url,
        message="Saved. Print it, or send it as a PDF or CSV file.",
        template="stock/orders/form.html",
    )


@GET_OR_POST
def order_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change an order that nothing has come for and nothing was canceled of."""
    order = _sheet(pk).order

    def save(form):
        data = form.cleaned_data
        return change_order(order, data["supplier"], form.lines(), on=data["date"], note=data["note"])

    return form_page(
        request,
        partial(order_form, order),
        heading=f"Change order {order.key}",
        back=(order.get_absolute_url(), str(order)),
        save=save,
        template="stock/orders/form.html",
    )


def order_form(order: Order, *data, profile: Profile) -> OrderForm:
    """Return the form of an order, filled in with what the book has of it now."""
    sheet, prices = order_sheet(order), last_prices()
    ordered = {line.item_id: line for line in sheet.lines}
    items = list((Item.objects.current() | Item.objects.filter(pk__in=ordered)).in_order())
    lines = {item.pk: (None, prices.get(item.pk)) for item in items}
    lines |= {line.item_id: (line.packs, line.unit_price) for line in sheet.lines}
    return OrderForm(
        *data,
        profile=profile,
        row=order,
        items=items,
        initial={"date": order.ordered_on, "lines": lines},
        pack_sizes={item: line.pack_size for item, line in ordered.items()},
        on_hand=on_hand(),
        on_order=on_order(today()),
    )


@GET_OR_POST
def order_expected(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the day on which what is still to come of an order is expected."""
    sheet = _sheet(pk)
    order = sheet.order
    if request.method == "GET" and not sheet.expected:
        return redirect(order)
    return form_page(
        request,
        partial(expected_form, order),
        heading="When will it come?",
        lead="What to order counts on the delivery from this day on.",
        back=(order.get_absolute_url(), str(order)),
        save=lambda form: expect_order(order, form.cleaned_data["expected"]),
    )


def expected_form(order: Order, *data, profile: Profile) -> ExpectedForm:
    """Return the form of an order's expected day, filled in with the last day that the book has now."""
    day = max(order_sheet(order).expected, default=None)
    return ExpectedForm(*data, profile=profile, row=order, initial={"expected": day})


@GET_OR_POST
def order_receive(request: HttpRequest, pk: int) -> HttpResponse:
    """Receive a delivery, in whole or in part."""
    sheet = _sheet(pk)
    order, profile = sheet.order, Profile.for_request(request)
    if request.method == "GET" and not sheet.open_lines:
        return redirect(order)
    # What was typed for a line stays, also where all of it came in the meantime.
    lines = [line for line in sheet.lines if line.to_come or f"quantity_{line.pk}" in request.POST]

    def save(form):
        data, rows = form.cleaned_data, form.received()
        receive_order(
            order,
            rows,
            on=data["date"],
            location=data.get("location"),
            freight=data["freight"] or Decimal(0),
            tax=data["tax"] or Decimal(0),
            reference=data["reference"],
            paid_on=data["paid_on"],
            receipts_before=data["seen"],
        )
        return delivery_difference(rows, profile.currency)

    return form_page(
        request,
        partial(ReceiveForm, lines=lines, initial={"date": today(), "seen": sheet.came_ever}),
        heading="What was delivered?",
        back=(order.get_absolute_url(), str(order)),
        save=save,
        then=lambda _: order.get_absolute_url(),
        message=partial(_received, profile=profile),
        template="stock/orders/receive.html",
        order_title=order.title,
    )


def _received(delivery: DeliveryDifference, profile: Profile) -> str:
    """Say what a delivery came to, and how far that is from what was expected."""
    amount = formats.money(delivery.amount, profile.currency, profile.locale)
    if not delivery.over:
        return f"Received: {amount} before freight and tax."
    difference = formats.money(abs(delivery.over), profile.currency, profile.locale)
    more = "more" if delivery.over > 0 else "less"
    return f"Received: {amount} before freight and tax, {difference} {more} than expected."


@GET_OR_POST
def line_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Cancel what has not come of a line, or part of it."""
    line = get_object_or_404(OrderLine.objects.for_detail().select_related("order"), pk=pk)
    if request.method == "GET" and not line.to_come:
        return redirect(line.order)
    return form_page(
        request,
        partial(CancelForm, line=line, initial={"quantity": line.to_come}),
        heading=f"Cancel {line.item}",
        lead="What you cancel no longer counts as on order.",
        back=(line.order.get_absolute_url(), str(line.order)),
        save=lambda form: cancel_order_line(line, form.cleaned_data["quantity"]),
        message=CANCELED,
        save_label="Cancel these units",
        way_out="Back to the order",
    )


@require_POST
def order_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    order = get_object_or_404(Order, pk=pk)
    return do(request, cancel_rest, order, message=CANCELED, then=order.get_absolute_url())


@require_POST
def receipt_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo a receipt of an order that was recorded by mistake."""
    purchase = get_object_or_404(Purchase.objects.of_orders(), pk=pk)
    back = purchase.order_line.order.get_absolute_url()
    return do(request, reverse_movements, [purchase.movement], message="Undone.", then=back)


@require_GET
def order_document(request: HttpRequest, pk: int) -> HttpResponse:
    """The order as a PDF, made again each time: an order may change until part of it comes."""
    sheet = _sheet(pk)
    try:
        content = render_pdf("pdf/order.html", {"paper": order_paper(sheet)})
    except PdfUnavailable as error:
        return render(request, "parts/no_pdf.html", {"why": str(error)}, status=503)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{file_stem(sheet)}.pdf"'
    return response


@require_GET
def order_csv_file(request: HttpRequest, pk: int) -> HttpResponse:
    sheet = _sheet(pk)
    response = HttpResponse(order_csv(sheet), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{file_stem(sheet)}.csv"'
    return response
