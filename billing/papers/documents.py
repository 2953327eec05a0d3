"""Invoices and credit notes as PDF files in the data folder: each is made once and kept.

A file belongs to the paper whose `uuid` stands in it, not to the number in its name: database and
folder may be of different days, after a restore of one of them, say. A file that is another paper's, or
not whole, is made anew.
"""

import os
from collections.abc import Callable, Iterable
from multiprocessing import TimeoutError, get_context
from uuid import UUID

from django.conf import settings

from billing.models import CreditNote, Invoice
from billing.papers.credit_note import credit_note_paper
from billing.papers.invoice import file_name, invoice_paper
from billing.papers.pdf_worker import begin
from practice.lib.kept_files import replace_file
from practice.lib.pdf import PdfUnavailable, is_paper, render_pdf, render_pdfs

FEW = 8
# The pool restarts a worker that cannot start, over and over: wait no longer than this.
PATIENCE, SECONDS_EACH = 60, 10


def pdf_path(invoice: Invoice) -> str:
    """Return where an invoice's PDF is, relative to the data folder: `invoices/2026/NUMBER.pdf`."""
    return f"invoices/{invoice.issued.year}/{file_name(invoice.number)}.pdf"


def pdf_path_if_made(invoice: Invoice) -> str | None:
    """Return `pdf_path` where the invoice's file is there, else None."""
    return pdf_path(invoice) if kept_pdf(invoice) else None


def kept_pdf(invoice: Invoice) -> bytes | None:
    """Return the PDF that was made of this invoice, None where there is none or it is not whole."""
    return kept_paper(pdf_path(invoice), invoice.uuid)


def kept_paper(path: str, uuid: UUID) -> bytes | None:
    """Return the file of the data folder where it is the paper with this uuid and whole, else None."""
    try:
        content = (settings.DATA_DIR / path).read_bytes()
    except FileNotFoundError:
        return None
    return content if is_paper(content, uuid) else None


def invoice_pdf(invoice: Invoice, render: Callable[..., bytes] = render_pdf) -> bytes:
    """Return the invoice's PDF; it is made and saved the first time.

    Raises PdfUnavailable where the machine lacks what it needs.
    """
    content = kept_pdf(invoice)
    if content is None:
        content = render("pdf/invoice.html", {"paper": invoice_paper(invoice)}, invoice.uuid)
        replace_file(settings.DATA_DIR / pdf_path(invoice), content)
    return content


def invoices_in_one_pdf(invoices: Iterable[Invoice], title: str) -> bytes:
    """Return invoices as one PDF to print, one after the other; it is made anew each time.

    Raises PdfUnavailable where the machine lacks what it needs.
    """
    return render_pdfs("pdf/invoice.html", [{"paper": invoice_paper(invoice)} for invoice in invoices], title)


def write_invoice_pdf(key: int) -> None:
    """Make and save the PDF of one invoice; worker processes call it by this name."""
    invoice_pdf(Invoice.objects.select_related("client").get(pk=key))


def write_invoice_pdfs(keys: list[int]) -> str:
    """Make the PDFs of these invoices, many of them on all cores. Returns what went wrong, blank if nothing.

    The invoices are issued already: a PDF that is missing is made when it is first opened.
    """
    try:
        if len(keys) <= FEW:
            for key in keys:
                write_invoice_pdf(key)
        else:
            with get_context("spawn").Pool(os.cpu_count(), begin, maxtasksperchild=50) as pool:
                made = pool.map_async(write_invoice_pdf, keys, chunksize=1)
                made.get(timeout=PATIENCE + SECONDS_EACH * len(keys))
    except PdfUnavailable as error:
        return f"The invoices are issued, but their PDFs could not be made. {error}"
    except TimeoutError:
        return "The invoices are issued, but their PDFs took too long. Each is made when you first open it."
    return ""


def credit_note_path(note: CreditNote) -> str:
    """Return where a credit note's PDF is, relative to the data folder: `credit_notes/2026/NUMBER.pdf`."""
    return f"credit_notes/{note.issued.year}/{file_name(note.number)}.pdf"


def credit_note_pdf(note: CreditNote) -> bytes:
    """Return a credit note's PDF; it is made and saved the first time. Raises PdfUnavailable."""
    content = kept_paper(credit_note_path(note), note.uuid)
    if content is None:
        content = render_pdf("pdf/credit_note.html", {"paper": credit_note_paper(note)}, note.uuid)
        replace_file(settings.DATA_DIR / credit_note_path(note), content)
    return content
