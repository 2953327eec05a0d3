"""Credit notes in the book: out, in, and out again; and what is wrong with those of a folder."""

from datetime import timedelta
from decimal import Decimal

import pytest

from billing.actions.crediting import bill_again, issue_credit_note
from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import Invoice, TaxRate
from practice.actions.visits import reopen_visit
from practice.models import Visit
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, trim
from tests.project.test_book_errors import complaints, put

pytestmark = pytest.mark.django_db
D = Decimal
LATER = DAY + timedelta(5)
TODAY = DAY + timedelta(30)


def issued(ref, price="50"):
    """Return the invoice of a taxed trim, paid in part."""
    work = trim(ClientFactory(ref=ref), price=price)
    work.service.taxable = True
    work.service.save()
    [invoice] = close_days(DAY, DAY, TODAY).invoices
    record_payment(invoice.client, DAY, D(40), "cash")
    return invoice


@pytest.fixture
def credited():
    """Credited in part, in full and billed again, in full and asked about, reopened, and one of before."""
    ProfileFactory()
    TaxRate.objects.create(name="State", valid_from=DAY, rate=7)
    part, again, asked, reopened, said = (issued(ref) for ref in ("ann", "bea", "cy", "dot", "eli"))
    before = InvoiceFactory(number="OLD-1", net=D(100), tax=D(7))
    issue_credit_note(part, LATER, {1: D("20.00")}, reason="goodwill", note="Late, by an hour")
    issue_credit_note(again, LATER, again=True)
    close_days(DAY, DAY, TODAY)
    issue_credit_note(asked, LATER)
    issue_credit_note(reopened, LATER)
    reopen_visit(Visit.objects.get(lines__invoice=reopened))
    issue_credit_note(said, LATER)
    bill_again(Visit.objects.get(lines__invoice=said))
    issue_credit_note(before, LATER, {1: D("33.33")}, reason="bad_debt")


def lines_of(folder, name) -> list[str]:
    return (folder / f"{name}.csv").read_text(encoding="utf-8").splitlines()


def test_credit_notes_are_written_out_with_their_lines_and_what_was_said(credited, tmp_path):
    export_book(tmp_path / "out")

    assert lines_of(tmp_path / "out", "credit_notes")[:3] == [
        "number,invoice,issued,net,tax,total,reason,again,note",
        'GF-CN-2026-0001,GF-2026-0001,2026-10-19,20.00,1.40,21.40,goodwill,no,"Late, by an hour"',
        "GF-CN-2026-0002,GF-2026-0002,2026-10-19,50.00,3.50,53.50,correction,yes,",
    ]
    assert lines_of(tmp_path / "out", "credit_note_lines")[0:3] == [
        "credit_note,line,net",
        "GF-CN-2026-0001,1,20.00",
        "GF-CN-2026-0002,1,50.00",
    ]
    assert lines_of(tmp_path / "out", "rebillings")[1].endswith(",GF-CN-2026-0005,yes")


def test_what_is_in_the_book_is_known(credited, tmp_path):
    export_book(tmp_path / "out")

    report = import_book(tmp_path / "out")

    assert report.problems == []
    assert {(row["new"], row["updated"]) for row in report.files} == {(0, 0)}


@pytest.mark.slow
def test_they_come_back_byte_for_byte(credited, tmp_path, check_it_comes_back):
    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")


INVOICES = "number,client,issued,due,net,tax,total\n"
LINES = "invoice,client,kind,visit,horse,code,quantity,unit_price,share,net,tax_names,tax_rates,tax_areas\n"
NOTES = "number,invoice,issued,net,tax,total,reason,again\n"
TAKEN = "credit_note,line,net\n"


def folder_with(path, notes, taken=""):
    """Put a folder of one invoice of before, OLD-1 of 100.00 + 7.00, with credit notes."""
    return put(
        path / "book",
        invoices_csv=INVOICES + "OLD-1,ann,2026-10-14,2026-10-28,100.00,7.00,107.00\n",
        credit_notes_csv=NOTES + notes,
        credit_note_lines_csv=TAKEN + taken,
    )


@pytest.mark.parametrize(
    ("notes", "taken", "expected"),
    [
        ("C1,OLD-1,2026-10-15,40.00,2.80,42.80,,\n", "C1,1,40.00\n", []),
        ("C1,OLD-1,2026-10-15,40.00,2.80,42.80,,\n", "", []),
        (
            "C1,OLD-1,2026-10-15,40.00,2.81,42.81,,\n",
            "C1,1,40.00\n",
            ["credit_notes.csv:2: tax: 2.81 does not match the tax of its lines, 2.80"],
        ),
        (
            "C1,OLD-1,2026-10-15,40.00,2.80,42.00,,\n",
            "C1,1,40.00\n",
            ["credit_notes.csv:2: total: 42.00 is not net 40.00 plus tax 2.80"],
        ),
        (
            "C1,OLD-1,2026-10-13,40.00,2.80,42.80,,\n",
            "C1,1,40.00\n",
            ["credit_notes.csv:2: issued: 2026-10-13 is before OLD-1, dated 2026-10-14"],
        ),
        (
            "C1,OLD-1,2026-10-15,60.00,4.20,64.20,,\nC2,OLD-1,2026-10-16,60.00,4.20,64.20,,\n",
            "C1,1,60.00\nC2,1,60.00\n",
            ["credit_note_lines.csv:3: net: 60.00 is more than what is left of the line, 40.00"],
        ),
        (
            "C1,OLD-1,2026-10-16,60.00,4.20,64.20,,\nC2,OLD-1,2026-10-15,40.00,2.80,42.80,,\n",
            "C1,1,60.00\nC2,1,40.00\n",
            ["credit_notes.csv:3: issued: 2026-10-15 is before C1, dated 2026-10-16"],
        ),
        (
            "C1,OLD-1,2026-10-15,40.00,2.80,42.80,,\n",
            "C1,2,40.00\n",
            ["credit_note_lines.csv:2: line: 2 is not a line of the invoice; it has 1"],
        ),
        (
            "C1,OLD-1,2026-10-15,40.00,2.80,42.80,,\n",
            "C1,1,30.00\n",
            ["credit_notes.csv:2: net: 40.00 does not match its lines, which add up to 30.00"],
        ),
        (
            "C1,OLD-1,2026-10-15,40.00,2.80,42.80,goodwill,yes\n",
            "C1,1,40.00\n",
            ["credit_notes.csv:2: again: only a correction is billed again, not goodwill"],
        ),
        (
            "C1,OLD-7,2026-10-15,40.00,2.80,42.80,,\n",
            "",
            ['credit_notes.csv:2: invoice: "OLD-7" is not in invoices.csv'],
        ),
        (
            "C1,OLD-1,2026-10-15,-4.00,0,-4.00,theft,\n",
            "C1,1,-4.00\n",
            [
                'credit_notes.csv:2: net: "-4.00" is not at least 0',
                'credit_notes.csv:2: reason: "theft" is not one of correction, goodwill, bad_debt',
            ],
        ),
    ],
)
def test_a_folder_s_credit_notes_take_what_is_left(tmp_path, notes, taken, expected):
    assert complaints(folder_with(tmp_path, notes, taken)) == expected


def test_a_credit_note_of_the_book_takes_no_more_lines(tmp_path):
    ProfileFactory()
    note = issue_credit_note(
        InvoiceFactory(client=ClientFactory(ref="ann"), number="OLD-1"), DAY, {1: D("40.00")}
    )

    found = complaints(put(tmp_path / "book", credit_note_lines_csv=f"{TAKEN}{note.number},1,10.00\n"))

    assert found == [
        f'credit_note_lines.csv:2: credit_note: "{note.number}" is already issued and cannot be changed'
    ]


def test_new_numbers_are_drawn_above_imported_ones(tmp_path):
    import_book(folder_with(tmp_path, "CN-2026-0007,OLD-1,2026-10-15,40.00,2.80,42.80,,\n"))

    assert issue_credit_note(Invoice.objects.get(), LATER).number == "CN-2026-0008"
