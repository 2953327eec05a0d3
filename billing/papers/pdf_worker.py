"""What a process of its own does to make PDFs. It is imported before Django is set up there."""


def begin() -> None:
    """Set Django up in a new process."""
    import django

    django.setup()


def write(key: int) -> None:
    """Make and keep the PDF of one invoice."""
    from billing.models import Invoice
    from billing.papers.documents import invoice_pdf

    invoice_pdf(Invoice.objects.select_related("client").get(pk=key))
