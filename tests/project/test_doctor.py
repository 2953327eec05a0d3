"""The doctor names each thing that is wrong with a book, says what to do, and changes nothing."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.conf import settings
from django.db import connection

from billing.actions.crediting import issue_credit_note
from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.actions.receipts import name_of, receipt_file
from billing.models import Invoice
from billing.papers.documents import pdf_path
from practice.actions.visits import complete_visit
from practice.lib.profile import Profile
from practice.project.backup.state import BackupState
from practice.project.doctor import database, numbers, papers, sums
from practice.project.doctor.checkup import BOOK
from practice.project.furnish import furnish
from stock.actions.movements import receive_item, return_to_supplier, transfer_item, undo_fact, waste_item
from stock.models import Movement
from tests.factories.billing import ExpenseFactory, InvoiceFactory
from tests.factories.practice import (
    DAY,
    ClientFactory,
    MaterialUseFactory,
    ProfileFactory,
    trim,
)
from tests.factories.stock import LocationFactory, receipt
from tests.pictures import PDF

D = Decimal
WEEK = timedelta(weeks=1)


@pytest.fixture
def book(db, settings, tmp_path):
    """A taxed invoice that was paid in part, one credited in part, and an item that was used."""
    from billing.models import TaxRate

    settings.DATA_DIR = tmp_path / "data"
    settings.DATA_DIR.mkdir()
    ProfileFactory()
    TaxRate.objects.create(name="State", valid_from=DAY - WEEK, rate=D("5.5"))
    ann, ben = ClientFactory(name="Ann"), ClientFactory(name="Ben")
    for client in (ann, ben):
        work = trim(client, on=DAY)
        work.service.taxable = True
        work.service.save()
    close_days(DAY, DAY, DAY)
    first, second = Invoice.objects.order_by("pk")
    record_payment(ann, DAY, D(20), "check")
    issue_credit_note(second, DAY, {1: D(5)}, reason="goodwill")
    use = MaterialUseFactory(quantity=D(4), visit__date=DAY, item__name="Front shoe")
    receipt(use.item, "10", "3.40")
    complete_visit(use.visit)
    InvoiceFactory(client=ann, number="GF-2025-0187", issued=DAY - 40 * WEEK)
    return first


def by_hand(statement: str) -> None:
    """Change the database as somebody would who goes round the program."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
            for (name,) in cursor.fetchall():
                cursor.execute(f"DROP TRIGGER {name}")
        else:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            for guard in database.GUARDS:
                cursor.execute(f"ALTER TABLE {guard.table} DISABLE TRIGGER USER")
        cursor.execute(statement)


def found(*looks) -> list[tuple[str, str]]:
    return [(fault.code, fault.what) for look in looks for fault in look()]


def test_a_sound_book_has_nothing_to_see_to(book):
    assert found(*(check.look for check in BOOK)) == []
    assert found(database.look_at_integrity, database.look_at_migrations) == []


@pytest.mark.parametrize(
    ("statement", "look", "faults"),
    [
        (
            "UPDATE billing_invoiceline SET net = net + 10000"
            " WHERE invoice_id = (SELECT MIN(id) FROM billing_invoice)",
            sums.look_at_invoices,
            [("invoice_sums", "The sums of these invoices do not match their lines: GF-2026-0001.")],
        ),
        (
            "UPDATE billing_invoice SET tax = tax + 10000, total = total + 10000"
            " WHERE number = 'GF-2026-0002'",
            sums.look_at_invoices,
            [("invoice_sums", "The sums of these invoices do not match their lines: GF-2026-0002.")],
        ),
        (
            "UPDATE billing_invoiceline SET tax_rates = 'five'",
            sums.look_at_invoices,
            [
                (
                    "invoice_sums",
                    "The sums of these invoices do not match their lines: GF-2026-0001, GF-2026-0002.",
                )
            ],
        ),
        (
            "UPDATE billing_creditnoteline SET net = net - 10000",
            sums.look_at_credit_notes,
            [
                (
                    "credit_note_sums",
                    "The sums of these credit notes do not match their lines: GF-CN-2026-0001.",
                )
            ],
        ),
        (
            "UPDATE billing_creditnote SET net = net + 90000000, total = total + 90000000",
            sums.look_at_credit_notes,
            [
                (
                    "credit_note_sums",
                    "The sums of these credit notes do not match their lines: GF-CN-2026-0001.",
                ),
                ("credited_too_much", "More is credited than these invoices come to: GF-2026-0002."),
            ],
        ),
        (
            "UPDATE billing_settlement SET amount = amount - 10000",
            sums.look_at_accounts,
            [
                ("settlements", "The payments of these clients are not applied as they should be: Ann."),
                ("account_days", "What these clients owed on some days does not match their invoices: Ann."),
            ],
        ),
        (
            "UPDATE billing_accountday SET open = open + 10000"
            " WHERE client_id = (SELECT MAX(id) FROM practice_client WHERE name = 'Ben')",
            sums.look_at_accounts,
            [("account_days", "What these clients owed on some days does not match their invoices: Ben.")],
        ),
        (
            "UPDATE stock_valuation SET cost = cost + 10000 WHERE kind = 'use'",
            sums.look_at_ledgers,
            [("ledger", "The ledger of these items does not match what was recorded: Front shoe.")],
        ),
        (
            "UPDATE stock_shelf SET on_hand = on_hand + 1000000",
            sums.look_at_ledgers,
            [("ledger", "The ledger of these items does not match what was recorded: Front shoe.")],
        ),
        (
            "UPDATE stock_balance SET quantity = quantity + 1000000",
            sums.look_at_ledgers,
            [("ledger", "The ledger of these items does not match what was recorded: Front shoe.")],
        ),
        (
            "UPDATE stock_movement SET quantity = quantity + 1000000 WHERE kind = 'receipt'",
            sums.look_at_ledgers,
            [("ledger", "The ledger of these items does not match what was recorded: Front shoe.")],
        ),
        (
            "UPDATE billing_invoice SET number = 'GF-2026-0009' WHERE number = 'GF-2026-0002'",
            numbers.look_at_numbers,
            [
                (
                    "numbers_missing",
                    "There is no invoice with the numbers GF-2026-0008, though a later one was issued.",
                )
            ],
        ),
    ],
)  # fmt: skip
def test_what_was_changed_by_hand_is_named(book, statement, look, faults):
    by_hand(statement)

    assert found(look) == faults


def test_settlements_of_days_that_are_closed_for_good_count_as_recorded(book):
    Profile.objects.update(closed_through=DAY)
    by_hand("UPDATE billing_settlement SET amount = amount - 10000")

    assert [code for code, _ in found(sums.look_at_accounts)] == ["account_days"]


def test_a_ledger_with_returns_transfers_and_places_of_stock_is_as_stored(book):
    item = Movement.objects.first().item
    truck, shop = LocationFactory(name="Truck"), LocationFactory(name="Shop")
    receive_item(item, D(6), D("3.90"), on=DAY - WEEK, location=shop)
    waste_item(item, D(11), on=DAY)
    transfer_item(item, D(2), location=truck, to_location=shop, on=DAY)
    undo_fact(return_to_supplier(item, D(1), on=DAY))

    assert found(sums.look_at_ledgers) == []


@pytest.mark.parametrize(
    ("known", "drawn", "missing"),
    [
        (["A-2026-0001", "A-2026-0002"], ["A-2026-0001", "A-2026-0002"], []),
        (["A-2026-0001", "A-2026-0003"], ["A-2026-0001", "A-2026-0003"], ["A-2026-0002"]),
        (["A-2026-0002"], ["A-2026-0002"], ["A-2026-0001"]),
        # Imported ones have gaps, and the first one drawn here follows the highest.
        (["A-2026-0017", "A-2026-0180", "A-2026-0181"], ["A-2026-0181"], []),
        (["A-2026-0180", "A-2026-0182"], ["A-2026-0182"], ["A-2026-0181"]),
        (["A-2026-9999", "A-2026-10000"], ["A-2026-10000"], []),
        (["2026-0001", "B-2026-0001", "first"], ["2026-0001", "B-2026-0001", "first"], []),
        (["2026-0003"], ["2026-0003"], ["2026-0002"]),
        (["A-2026-0000"], ["A-2026-0000"], []),
        # No number of the program's own form follows another.
        (["L0000", "L0007", "A1", "2026-17"], ["L0000", "L0007", "A1", "2026-17"], []),
    ],
)
def test_a_number_that_was_drawn_here_follows_another_one(known, drawn, missing):
    assert numbers.missing_numbers(known, set(drawn)) == missing


def test_a_search_that_misses_changes_is_named_and_the_next_command_mends_it(book):
    before = found(database.look_at_search)
    by_hand("DELETE FROM find_entry")
    if connection.vendor == "postgresql":
        by_hand("DROP TRIGGER practice_horse_find ON practice_horse")

    [(code, what)] = found(database.look_at_search)
    furnish()

    assert (before, code) == ([], "search_behind")
    assert "practice_horse" in what
    assert found(database.look_at_search) == []


def test_a_database_that_compares_no_parts_of_words_is_the_machines_lack(book, monkeypatch):
    monkeypatch.setattr(database, "has_pieces", lambda: False)

    [fault] = database.look_at_search()

    assert (fault.code, fault.of_machine) == ("search_slow", True)


def test_missing_guards_are_named_and_the_next_command_brings_them(book):
    by_hand("SELECT 1")
    tables = ", ".join(sorted(guard.table for guard in database.GUARDS)[:5])
    before = found(database.look_at_guards)

    if connection.vendor != "sqlite":
        with connection.cursor() as cursor:
            for guard in database.GUARDS:
                cursor.execute(f"ALTER TABLE {guard.table} ENABLE TRIGGER USER")
    furnish()

    [(code, what)] = before
    assert code == "guards_missing" and tables in what
    assert found(database.look_at_guards) == []


# --- files


@pytest.fixture
def kept_receipt(db):
    """An expense whose receipt is in the data folder."""
    file = receipt_file(name_of(PDF))
    file.parent.mkdir(exist_ok=True)
    file.write_bytes(PDF)
    ExpenseFactory(receipt=file.name, date=DAY, amount=D(12), category="supplies")
    yield file
    file.unlink(missing_ok=True)


def test_a_receipt_that_is_gone_and_one_that_changed_are_named(kept_receipt):
    assert found(papers.look_at_receipts) == []

    kept_receipt.write_bytes(PDF + b"\n% changed")
    changed = found(papers.look_at_receipts)
    kept_receipt.unlink()

    named = "supplies 12, 2026-10-14"
    assert changed == [("receipts_damaged", f"The receipts of these expenses are damaged: {named}.")]
    assert [code for code, _ in found(papers.look_at_receipts)] == ["receipts_gone"]


def test_a_pdf_of_no_invoice_and_one_that_is_cut_off_are_named(book):
    folder = settings.DATA_DIR / "invoices" / "2026"
    folder.mkdir(parents=True, exist_ok=True)
    own, stray = settings.DATA_DIR / pdf_path(book), folder / "GF-2026-0777.pdf"
    whole = b"%%PDF-1.7\n/ID [(%s)]\n%%%%EOF\n" % book.uuid.hex.encode()

    own.write_bytes(whole)
    sound = found(papers.look_at_papers)
    own.write_bytes(whole[:-4])
    stray.write_bytes(whole)
    wrong = found(papers.look_at_papers)
    for file in (own, stray):
        file.unlink()

    assert sound == []
    assert wrong == [
        (
            "papers",
            "These PDFs are damaged, or belong to no invoice or credit note in the book:"
            " invoices/2026/GF-2026-0001.pdf, invoices/2026/GF-2026-0777.pdf.",
        )
    ]


@pytest.mark.django_db
def test_what_the_first_page_says_of_backups_is_said_here(monkeypatch, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    ProfileFactory()
    failed = BackupState(problem="The disk is full.")
    monkeypatch.setattr("practice.project.backup.page.backup_state", lambda: failed)

    assert found(papers.look_at_backups)[0] == ("backups", "The last backup failed. The disk is full.")
