"""A PDF as the answer to a request, or the page that says why none can be made here."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from practice.lib.pdf import PdfUnavailable


def pdf_response(request: HttpRequest, make: Callable[[], bytes], name: str) -> HttpResponse:
    """Answer with the PDF that `make` gives, or with the page that says why none can be made here."""
    try:
        content = make()
    except PdfUnavailable as error:
        return render(request, "parts/no_pdf.html", {"why": str(error)}, status=503)
    return pdf_answer(content, name)


def pdf_answer(content: bytes, name: str) -> HttpResponse:
    """Answer with a PDF, opened in the browser."""
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response
