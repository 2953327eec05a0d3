"""Database and papers of different days, as after a power cut or a restore of one of them alone."""

import io
import random
import shutil
from datetime import timedelta

import pytest
from django.db import transaction
from pypdf import PdfReader

from billing.actions.invoicing import close_days
from billing.models import Invoice, InvoiceLine
from billing.papers.documents import invoice_pdf, pdf_path, pdf_path_if_made
from billing.papers.invoice import invoice_paper
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, trim
from tests.papers import plain_paper

pytestmark = pytest.mark.django_db
EVENINGS = 3


@pytest.fixture(autouse=True)
def data_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "data"


class Season:
    """A book and its papers: each evening is a day's work, its closing, and some papers that are opened."""

    def __init__(self, seed, data, copies):
        self.random, self.data, self.copies = random.Random(seed), data, copies
        self.day, self.books = DAY, []
        ProfileFactory()
        for _ in range(EVENINGS):
            self.keep()
            self.evening()

    def keep(self):
        """Note the database and the papers as they are now."""
        self.data.mkdir(exist_ok=True)
        shutil.copytree(self.data, self.copies / str(len(self.books)))
        self.books.append(transaction.savepoint())

    def evening(self):
        """Close a day of new clients, all at one price: invoices differ in little but whose they are."""
        self.day += timedelta(1)
        for _ in range(self.random.randint(1, 2)):
            trim(ClientFactory(name=f"Client {self.random.getrandbits(64):x}"), on=self.day)
        issued = close_days(self.day, self.day, self.day).invoices
        for invoice in issued:
            if self.random.random() < 0.8:
                invoice_pdf(invoice, plain_paper)
        return issued

    def put_papers_back(self):
        shutil.rmtree(self.data)
        shutil.copytree(self.copies / str(self.random.randrange(EVENINGS)), self.data)

    def put_database_back(self):
        transaction.savepoint_rollback(self.books[self.random.randrange(EVENINGS)])


@pytest.mark.parametrize("seed", range(50))
def test_no_invoice_ever_gets_the_paper_of_another(seed, settings, tmp_path):
    season = Season(seed, settings.DATA_DIR, tmp_path)
    faults = [season.put_papers_back, season.put_database_back]
    season.random.shuffle(faults)

    for fault in faults:
        fault()
        before = list(Invoice.objects.order_by("pk"))
        issued = season.evening()

        invoices = list(Invoice.objects.order_by("pk"))
        assert invoices == before + issued
        assert [row.number for row in invoices] == [f"GF-2026-{n:04d}" for n in range(1, len(invoices) + 1)]
        assert [(row.issued, row.total) for row in issued] == [(season.day, 50)] * len(issued)
        lines = InvoiceLine.objects.order_by("pk").values_list("invoice", "client")
        assert list(lines) == [(row.pk, row.client_id) for row in invoices]
        for invoice in invoices:
            own = plain_paper("pdf/invoice.html", {"paper": invoice_paper(invoice)}, invoice.uuid)
            assert invoice_pdf(invoice, plain_paper) == own
            assert (settings.DATA_DIR / pdf_path(invoice)).read_bytes() == own
    assert close_days(DAY, season.day, season.day).invoices == []


def test_an_invoice_whose_number_was_drawn_before_is_printed_with_its_own_client(browser):
    ProfileFactory()
    book = transaction.savepoint()
    trim(ClientFactory(name="Petra Quill"))
    [lost] = close_days(DAY, DAY, DAY).invoices
    invoice_pdf(lost)
    transaction.savepoint_rollback(book)
    trim(ClientFactory(name="Anselm Rooke"))

    [invoice] = close_days(DAY, DAY, DAY).invoices

    assert (invoice.number, pdf_path(invoice)) == (lost.number, pdf_path(lost))
    assert pdf_path_if_made(invoice) is None
    answer = browser.get(f"/invoices/{invoice.pk}/pdf/")
    text = PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
    assert "Anselm Rooke" in text and "Petra Quill" not in text
    assert pdf_path_if_made(invoice) == pdf_path(invoice)
