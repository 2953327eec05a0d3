"""The receipt of a payment: short on a page, as PDF, and by mail."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from billing.models import Payment
from billing.papers.payment_receipt import receipt_file_name, receipt_of, receipt_pdf
from billing.papers.receipt_messages import RECEIPT
from billing.reports.mail_state import mail_about
from billing.views.mail import send_page
from practice.lib.pages import GET_OR_POST
from practice.lib.pdf_answers import pdf_response
from practice.lib.profile import Profile
from practice.lib.today import today


@require_GET
def receipt_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """The receipt in a few lines, to show on a phone."""
    payment, profile = get_object_or_404(Payment.objects.receipted(), pk=pk), Profile.for_request(request)
    context = {
        "payment": payment,
        "receipt": receipt_of(payment, for_practice=True),
        "mail": mail_about((RECEIPT,), payment, reverse("billing:receipt-send", args=[pk]), profile, today()),
        "here": "money",
    }
    return render(request, "billing/payments/receipt.html", context)


@require_GET
def receipt_document(request: HttpRequest, pk: int) -> HttpResponse:
    """The receipt as PDF."""
    payment = get_object_or_404(Payment.objects.receipted(), pk=pk)
    return pdf_response(request, partial(receipt_pdf, payment), receipt_file_name(payment))


@GET_OR_POST
def receipt_send(request: HttpRequest, pk: int) -> HttpResponse:
    """Send the receipt."""
    return send_page(request, RECEIPT, get_object_or_404(Payment.objects.receipted(), pk=pk))
