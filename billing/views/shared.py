"""The client's own page: one invoice or statement behind a link, without a login. Nothing else is behind it.

Whatever is wrong with an address, the answer is the same: 404, one page, the same headers.
"""

from collections.abc import Callable
from functools import wraps

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from billing.models import Invoice, SharedLink
from billing.papers.documents import invoice_pdf
from billing.papers.invoice import file_name, invoice_paper
from billing.papers.statement import statement_file_name, statement_paper, statement_pdf
from billing.reports.shared import link_with, note_opening
from billing.reports.statement import Statement, statement_of
from practice.lib import formats
from practice.lib.pdf import PdfUnavailable
from practice.lib.pdf_answers import pdf_answer
from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.lib.today import now, today
from practice.reports.shared_history import shared_history

HEADERS = {
    "X-Robots-Tag": "noindex, nofollow, noarchive",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "private, no-store",
}


def behind_a_link(view: Callable[[HttpRequest, SharedLink], HttpResponse]) -> Callable:
    """Give a view the link of its address, or answer 404; nobody keeps, indexes, or is told the address."""

    @login_not_required
    @require_safe
    @wraps(view)
    def answer(request: HttpRequest, token: str) -> HttpResponse:
        link = link_with(token, today())
        if link:
            note_opening(link, now())
            response = view(request, link)
        else:
            response = render(None, "shared/gone.html", status=404)
        for name, value in HEADERS.items():
            response[name] = value
        return response

    return answer


@behind_a_link
def shared_page(request: HttpRequest, link: SharedLink) -> HttpResponse:
    """The document, what is owed today, and how to pay."""
    profile = Profile.for_request(request)
    locale = link.client.language or profile.locale
    pdf_url = f"{request.path}pdf/"
    context = {
        "pdf_url": pdf_url,
        "expires": formats.long_date(link.expires_on, locale),
        "horses": shared_history(link.client, today(), locale) if link.with_history else [],
        "with_history": link.with_history,
    }
    if link.invoice_id is None:
        paper = statement_paper(statement_behind(link))
        context |= {"paper": paper, "heading": f"{paper.heading}: {paper.closing}"}
        return render(request, "shared/statement.html", context)
    invoice = invoice_behind(link)
    context |= {
        "paper": invoice_paper(invoice),
        "heading": owed_in_words(invoice, profile.currency, locale),
        "is_owed": invoice.open > 0,
    }
    return render(request, "shared/invoice.html", context)


@behind_a_link
def shared_document(request: HttpRequest, link: SharedLink) -> HttpResponse:
    """The document as PDF."""
    try:
        if link.invoice_id is None:
            statement = statement_behind(link)
            return pdf_answer(statement_pdf(statement), statement_file_name(statement))
        invoice = invoice_behind(link)
        return pdf_answer(invoice_pdf(invoice), file_name(invoice.number))
    except PdfUnavailable:  # the reason is for the practice
        return render(None, "shared/no_pdf.html", status=503)


def statement_behind(link: SharedLink) -> Statement:
    return statement_of(link.client, Period(link.begin, link.end))


def invoice_behind(link: SharedLink) -> Invoice:
    return Invoice.objects.for_list().get(pk=link.invoice_id)


def owed_in_words(invoice: Invoice, currency: str, locale: str) -> str:
    """Say what is left to pay: `$172.00 due by October 28, 2026.`, or that nothing is."""
    if invoice.open <= 0:
        return "Nothing is left to pay."
    left = formats.money(invoice.open, currency, locale)
    return f"{left} due by {formats.long_date(invoice.due, locale)}."
