"""The files of the lists of money: all that is listed, as searched and ordered, for a spreadsheet."""

import csv
import io
from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from openpyxl import load_workbook

from billing.actions.crediting import issue_credit_note
from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import Invoice
from practice.lib.things import PER_PAGE
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import ClientFactory, ProfileFactory, trim

D = Decimal
TODAY = date(2026, 11, 26)
FORMULA = '=HYPERLINK("http://evil.example","Pay")'


@pytest.fixture(autouse=True)
def practice(settings, db):
    settings.TODAY = TODAY
    return ProfileFactory()


def csv_rows(browser, path: str) -> list[list[str]]:
    answer = browser.get(path)
    assert (answer.status_code, answer["Content-Type"]) == (200, "text/csv; charset=utf-8")
    return list(csv.reader(io.StringIO(answer.content.decode(), newline="")))


def cells_of_workbook(browser, path: str) -> list[list]:
    sheet = load_workbook(io.BytesIO(browser.get(path).content), data_only=True).active
    return [[cell.value for cell in row] for row in sheet.iter_rows()]


def invoice(client, number: str, issued: date, total: str, paid: str = "0") -> Invoice:
    made = InvoiceFactory(
        client=client, number=number, issued=issued, due=issued + timedelta(14), net=D(total)
    )
    if D(paid):
        record_payment(client, TODAY, D(paid), "cash", invoice=made)
    return made


def test_invoices_come_as_they_are_listed(browser):
    ann, bo = ClientFactory(name="Ann Marsh"), ClientFactory(name="Bo Harper")
    invoice(ann, "N-1", date(2026, 9, 30), "80", paid="80")
    invoice(bo, "N-2", date(2026, 11, 20), "60.5")
    third = invoice(ann, "N-3", date(2026, 11, 2), "100", paid="25")
    issue_credit_note(third, TODAY, {1: D(10)}, reason="goodwill")

    [head, *rows] = csv_rows(browser, "/invoices/?download=invoices.csv")

    assert [*zip(*[head, *rows], strict=True)] == [
        ("Number", "N-3", "N-2", "N-1"),
        ("Date", "2026-11-02", "2026-11-20", "2026-09-30"),
        ("Due", "2026-11-16", "2026-12-04", "2026-10-14"),
        ("Client", "Ann Marsh", "Bo Harper", "Ann Marsh"),
        ("Net", "100.00", "60.50", "80.00"),
        ("Sales tax", "0.00", "0.00", "0.00"),
        ("Total", "100.00", "60.50", "80.00"),
        ("Paid", "25.00", "0.00", "80.00"),
        ("Credited", "10.00", "0.00", "0.00"),
        ("Left to pay", "65.00", "60.50", "0.00"),
        ("Days overdue", "10", "0", ""),
    ]


@pytest.mark.parametrize(
    "asked, numbers",
    [
        ("", ["N-3", "N-1", "N-2"]),
        ("&q=marsh", ["N-3", "N-1"]),
        ("&q=marsh&sort=-issued", ["N-1", "N-3"]),
        ("&sort=-total&page=7", ["N-2", "N-1", "N-3"]),
        ("&q=nobody", []),
    ],
)
@pytest.mark.parametrize("file", ["invoices.csv", "invoice-lines.csv", "invoices.xlsx"])
def test_a_file_holds_what_is_searched_for_in_the_order_that_was_chosen(browser, asked, numbers, file):
    ann = ClientFactory(name="Ann Marsh")
    trim(ann, on=date(2026, 11, 3), price="10")
    trim(ann, on=date(2026, 11, 2), price="5")
    trim(ClientFactory(name="Bo"), on=date(2026, 11, 4), price="30")
    close_days(date(2026, 11, 2), date(2026, 11, 4), TODAY)
    by_number = dict(
        zip(Invoice.objects.order_by("issued").values_list("number", flat=True), (3, 1, 2), strict=True)
    )
    path = f"/invoices/?download={file}{asked}"

    rows = cells_of_workbook(browser, path) if file.endswith("xlsx") else csv_rows(browser, path)

    found = [f"N-{by_number[row[0]]}" for row in rows[1:] if row[0] in by_number]
    assert found == numbers


def test_a_file_holds_all_pages(browser):
    ann = ClientFactory()
    for number in range(PER_PAGE + 2):
        invoice(ann, f"N-{number}", TODAY, "10")

    assert len(csv_rows(browser, "/invoices/?download=invoices.csv")) == PER_PAGE + 3


def test_lines_say_what_was_done_for_whom_and_how_it_was_taxed(browser):
    ann = ClientFactory(name="Ann")
    work = trim(ann, on=TODAY, price="47.5")
    close_days(TODAY, TODAY, TODAY)

    [head, row] = csv_rows(browser, "/invoices/?download=invoice-lines.csv")

    assert dict(zip(head, row, strict=True)) == {
        "Invoice": "GF-2026-0001",
        "Date": "2026-11-26",
        "Client": "Ann",
        "Kind": "Service",
        "Done on": "2026-11-26",
        "Place": work.visit.place.name,
        "Horse": work.horse.name,
        "What": work.service.name,
        "Quantity": "1",
        "Price of one": "47.5",
        "Share, percent": "100",
        "Net": "47.50",
        "Taxes": "",
        "Tax rates, percent": "",
    }


def test_payments_and_credit_notes_say_what_they_are(browser):
    ann = ClientFactory(name="Ann")
    made = invoice(ann, "N-1", TODAY, "80")
    record_payment(ann, TODAY, D(85), "check", tip=D(5), invoice=made, note="thanks", check_number="1042")
    record_payment(ann, TODAY, D(-80), "check", bounced=True)
    issue_credit_note(made, TODAY, {1: D(8)}, reason="goodwill", note="late")

    payments = csv_rows(browser, "/payments/?download=payments.csv")
    notes = csv_rows(browser, "/credit-notes/?download=credit-notes.csv")

    assert payments == [
        [
            "Date",
            "Client",
            "What it is",
            "Method",
            "Amount",
            "Tip included",
            "Check number",
            "Invoices",
            "Note",
        ],
        ["2026-11-26", "Ann", "Bounced check", "Check", "-80.00", "0.00", "", "N-1", ""],
        ["2026-11-26", "Ann", "Payment", "Check", "85.00", "5.00", "1042", "N-1", "thanks"],
    ]
    assert [row[2:] for row in notes] == [
        ["Invoice", "Client", "Reason", "Net", "Sales tax", "Total", "Note"],
        ["N-1", "Ann", "Goodwill", "8.00", "0.00", "8.00", "late"],
    ]


def test_what_is_owed_stands_by_how_long_it_is_overdue(browser):
    ann = ClientFactory(name="Ann", email="ann@example.com")
    invoice(ann, "N-1", TODAY, "80")
    invoice(ann, "N-2", TODAY - timedelta(60), "20", paid="5")

    [head, row] = csv_rows(browser, "/money/?download=owed.csv")

    assert [*zip(head, row, strict=True)] == [
        ("Client", "Ann"),
        ("Email", "ann@example.com"),
        ("Phone", ""),
        ("Open invoices", "2"),
        ("Oldest due date", "2026-10-11"),
        ("Days overdue", "46"),
        ("Not due yet", "80.00"),
        ("1–30 days", "0.00"),
        ("31–60 days", "15.00"),
        ("61–90 days", "0.00"),
        ("Over 90 days", "0.00"),
        ("Owed", "95.00"),
    ]


def test_a_workbook_has_real_days_and_numbers_and_no_formula_of_a_name(browser):
    bad = ClientFactory(name=FORMULA)
    invoice(bad, "-2+3", TODAY, "80.25")

    [_, row, *_, total] = cells_of_workbook(browser, "/invoices/?download=invoices.xlsx")

    assert row[:5] == ["-2+3", datetime(2026, 11, 26), datetime(2026, 12, 10), FORMULA, 80.25]
    assert (total[0], total[4]) == ("total", 80.25)
    sheet = load_workbook(io.BytesIO(browser.get("/invoices/?download=invoices.xlsx").content)).active
    assert [sheet[name].data_type for name in ("A2", "B2", "D2", "E2")] == ["s", "d", "s", "n"]
    assert csv_rows(browser, "/invoices/?download=invoices.csv")[1][3] == f"'{FORMULA}"


@pytest.mark.parametrize("path", ["/invoices/", "/payments/", "/credit-notes/", "/money/"])
def test_a_file_that_a_list_does_not_have_is_not_found(browser, path):
    asked = [f"{path}?download={name}" for name in ("", "invoices.exe", "expenses.csv", "../book.csv")]

    assert [browser.get(each).status_code for each in asked] == [404] * 4


def test_a_list_links_to_its_files_as_it_is_searched_and_ordered(browser):
    ann = ClientFactory(name="Ann")
    invoice(ann, "N-1", TODAY, "80")

    page = browser.get("/invoices/?q=ann&sort=-total").content.decode()
    nothing = browser.get("/invoices/?q=zorn").content.decode()

    for name in ("invoices.csv", "invoices.xlsx", "invoice-lines.csv", "invoice-lines.xlsx"):
        assert f'href="?q=ann&amp;sort=-total&amp;download={name}"' in page
    assert "download=" not in nothing


@pytest.mark.parametrize("file", ["invoices.csv", "invoice-lines.csv"])
def test_many_rows_take_as_many_queries_as_one(browser, file):
    browser.get("/invoices/")  # the first page of a login notes that it is in use
    counts = []
    for number in range(2):
        for more in range(1 + number * 3):
            trim(on=TODAY - timedelta(number), price=str(10 + more))
        close_days(TODAY - timedelta(number), TODAY - timedelta(number), TODAY)
        with CaptureQueriesContext(connection) as queries:
            browser.get(f"/invoices/?download={file}")
        counts.append(len(queries))

    assert counts[0] == counts[1]
