"""Money: who owes, invoices, payments, prices and tax rates."""

import uuid
from decimal import Decimal
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from billing.actions.payments import credit_left, record_payment
from billing.actions.prices import set_price
from billing.forms.money import PaymentForm, PriceForm, TaxRateForm
from billing.models import Invoice, Payment, TaxRate
from billing.papers.documents import invoice_pdf
from billing.papers.invoice import file_name, invoice_paper
from billing.reports.receivable import who_owes
from billing.tables import InvoiceTable, PaymentTable, TaxRateTable
from practice.lib.pages import GET_OR_POST, render_page
from practice.lib.pdf import PdfUnavailable
from practice.lib.profile import Profile
from practice.lib.things import form_page, list_page
from practice.lib.today import today
from practice.models import Client, Service
from stock.models import Item


@require_GET
def owed(request: HttpRequest) -> HttpResponse:
    """Who owes since when."""
    rows, now = who_owes(), today()
    context = {
        "rows": [(row, row.days_late(now)) for row in rows],
        "total": sum((row.open for row in rows), Decimal(0)),
        "late": sum(row.days_late(now) > 0 for row in rows),
        "here": "money",
    }
    return render(request, "billing/owed.html", context)


@require_GET
def invoice_list(request: HttpRequest) -> HttpResponse:
    rows = Invoice.objects.with_settled().select_related("client").order_by("-issued", "-pk")
    words = request.GET.get("q", "").strip()
    if words:
        rows = rows.filter(number__icontains=words) | rows.filter(client__name__icontains=words)
    return list_page(
        request,
        InvoiceTable(rows),
        "billing/invoices/list.html",
        here="money",
    )


@require_GET
def invoice_detail(request: HttpRequest, pk: int) -> HttpResponse:
    invoice = get_object_or_404(Invoice.objects.with_settled().select_related("client"), pk=pk)
    context = {
        "invoice": invoice,
        "paper": invoice_paper(invoice),
        "open": invoice.total - invoice.settled,
        "late": (today() - invoice.due).days,
        "settlements": invoice.settlements.select_related("payment").order_by("date", "pk"),
        "here": "money",
    }
    return render(request, "billing/invoices/detail.html", context)


@require_GET
def invoice_document(request: HttpRequest, pk: int) -> HttpResponse:
    """The invoice as PDF, made now where it is not yet."""
    invoice = get_object_or_404(Invoice.objects.select_related("client"), pk=pk)
    try:
        content = invoice_pdf(invoice)
    except PdfUnavailable as error:
        return render(request, "parts/no_pdf.html", {"why": str(error)}, status=503)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{file_name(invoice.number)}.pdf"'
    return response


@require_GET
def client_account(request: HttpRequest, pk: int) -> HttpResponse:
    """What is between a client and the practice: open invoices, credit, the last payments."""
    client = get_object_or_404(Client, pk=pk)
    outstanding = Invoice.objects.filter(client=client).outstanding()
    invoices = Invoice.objects.filter(client=client).with_settled().order_by("-issued", "-pk")[:12]
    context = {
        "client": client,
        "invoices": [(invoice, invoice.total - invoice.settled) for invoice in invoices],
        "open": sum((row.open for row in outstanding), Decimal(0)),
        "credit": credit_left(client),
        "payments": Payment.objects.filter(client=client).order_by("-date", "-pk")[:8],
        "here": "money",
    }
    return render_page(
        request, "billing/clients/account.html", context, partial="billing/clients/_account.html"
    )


@require_GET
def payment_list(request: HttpRequest) -> HttpResponse:
    rows = Payment.objects.select_related("client", "invoice").order_by("-date", "-pk")
    return list_page(
        request,
        PaymentTable(rows),
        "billing/payments/list.html",
        here="money",
    )


@GET_OR_POST
def payment_add(request: HttpRequest, client: int) -> HttpResponse:
    payer = get_object_or_404(Client, pk=client)
    initial = {"date": today(), "uuid": uuid.uuid4(), "method": Payment.Method.CHECK}
    back = (reverse("practice:client-detail", args=[client]), str(payer))
    if request.GET.get("invoice", "").isdigit():
        invoice = get_object_or_404(Invoice.objects.with_settled(), pk=request.GET["invoice"], client=payer)
        initial |= {"invoice": invoice.pk, "amount": invoice.total - invoice.settled}
        back = (invoice.get_absolute_url(), invoice.number)

    def save(form):
        data = dict(form.cleaned_data)
        return record_payment(payer, data.pop("date"), data.pop("amount"), data.pop("method"), **data)

    return form_page(
        request,
        partial(PaymentForm, initial=initial, client=payer),
        heading=f"A payment of {payer}",
        back=back,
        save=save,
        save_label="Take it",
        message="Taken.",
    )


@GET_OR_POST
def service_prices(request: HttpRequest, pk: int) -> HttpResponse:
    service = get_object_or_404(Service, pk=pk)
    return prices_page(
        request,
        service,
        back=(reverse("practice:service-list"), "Prices"),
        change=reverse("practice:service-change", args=[pk]),
        archive=reverse("practice:service-archive", args=[pk]),
    )


@GET_OR_POST
def item_prices(request: HttpRequest, pk: int) -> HttpResponse:
    item = get_object_or_404(Item, pk=pk)
    target = reverse("stock:item-detail", args=[pk])
    return prices_page(request, item, back=(target, str(item)), change=target)


def prices_page(request: HttpRequest, thing, back: tuple[str, str], **more) -> HttpResponse:
    """The dated prices of a service or an item, and the form for the next one."""
    return form_page(
        request,
        partial(PriceForm, initial={"since": today()}),
        heading=f"{thing}",
        back=back,
        save=lambda form: set_price(thing, form.cleaned_data["since"], form.cleaned_data["price"]),
        then=request.path,
        template="billing/prices/thing.html",
        thing=thing,
        prices=thing.prices.order_by("-valid_from", "-pk"),
        sale_price=getattr(thing, "sale_price", None),
        **more,
    )


@require_GET
def tax_rate_list(request: HttpRequest) -> HttpResponse:
    table = TaxRateTable(TaxRate.objects.order_by("name", "area", "valid_from", "pk"))
    return list_page(request, table, "billing/prices/tax_rates.html", here="money")


@GET_OR_POST
def tax_rate_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    rate = get_object_or_404(TaxRate, pk=pk) if pk else None

    def save(form):
        Profile.current().check_open(form.cleaned_data["valid_from"])
        return form.save()

    return form_page(
        request,
        partial(TaxRateForm, instance=rate),
        heading=f"{rate.name}" if rate else "A new tax rate",
        caution="What is taxed, and at which rate, differs from place to place and changes:"
        " a licensed tax preparer decides.",
        back=(reverse("billing:tax-rate-list"), "Tax rates"),
        save=save,
    )
