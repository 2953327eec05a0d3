"""A day of 30 horses closed, and its 30 papers made."""

import shutil

import pytest
from django.db import connection, transaction

from billing.actions.invoicing import close_days
from billing.models import Invoice, InvoiceLine
from billing.papers.documents import write_invoice_pdfs
from tests.factories.practice import (
    DAY,
    MaterialUseFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
)
from tests.factories.stock import ItemFactory

pytestmark = pytest.mark.benchmark
HORSES, STOPS = 30, 5
BARE_PAGE = """<html lang="en"><title>A bare page</title><h1>A bare page</h1><table>{}</table>""".format(
    "<tr><td>Fronts, hot-fitted<td>175.00<td>105.00" * 12
)


@pytest.fixture
def done_day(empty_book, tmp_path):
    """A book whose day is done but not closed: 30 horses of as many clients at 5 places."""
    book = empty_book.copied_to(tmp_path / "done")
    with book.opened():
        ProfileFactory(name="Garrow Farriery")
        fronts, shoe = ServiceFactory(name="Fronts", new_shoes=2), ItemFactory(name="Plain front")
        for _ in range(STOPS):
            place = PlaceFactory()
            visit = VisitFactory(place=place, status="done")
            for _ in range(HORSES // STOPS):
                horse = owned_horse(place=place)
                WorkFactory(visit=visit, horse=horse, service=fronts)
                for foot in ("LF", "RF"):
                    MaterialUseFactory(visit=visit, horse=horse, item=shoe, foot=foot)
    return book


class Statements:
    """The SQL of an action, to be run once more by itself."""

    def __init__(self, action):
        self.run_before = []
        with transaction.atomic():
            with connection.execute_wrapper(self.note):
                action()
            transaction.set_rollback(True)

    def note(self, execute, sql, params, many, context):
        self.run_before.append((sql, params, many))
        return execute(sql, params, many, context)

    def run(self) -> None:
        with transaction.atomic():
            with connection.cursor() as cursor:
                for sql, params, many in self.run_before:
                    (cursor.executemany if many else cursor.execute)(sql, params)
                    cursor.fetchall()
                assert Invoice.objects.count() == HORSES
            transaction.set_rollback(True)


def test_closing_30_horses(done_day, compare):
    def close():
        with transaction.atomic():
            assert len(close_days(DAY, DAY, DAY).invoices) == HORSES
            assert InvoiceLine.objects.count() >= HORSES
            transaction.set_rollback(True)

    with done_day.opened():
        bare = Statements(lambda: close_days(DAY, DAY, DAY))
        compare("closing 30 horses", close, "its SQL statements alone", bare.run)


def test_30_papers(done_day, compare):
    from weasyprint import HTML

    def make():
        shutil.rmtree(done_day.folder / "invoices", ignore_errors=True)
        assert write_invoice_pdfs(keys) == ""
        papers = list(done_day.folder.glob("invoices/*/*.pdf"))
        assert [paper.read_bytes()[:5] for paper in papers] == [b"%PDF-"] * HORSES

    def make_bare():
        for _ in range(HORSES):
            assert HTML(string=BARE_PAGE).write_pdf()[:5] == b"%PDF-"

    with done_day.opened():
        keys = [invoice.pk for invoice in close_days(DAY, DAY, DAY).invoices]
        compare("30 PDFs, on all processors", make, "30 bare pages of WeasyPrint, on one", make_bare, turns=3)
