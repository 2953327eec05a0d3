"""Writing invoices, payments, expenses, and the files that go with them."""

from billing.models import (
    BankDeposit,
    Charge,
    CheckedWarning,
    Equipment,
    EstimatedPayment,
    Expense,
    Invoice,
    InvoiceLine,
    Pack,
    Payment,
    PaymentChange,
    RepeatingExpense,
    Settlement,
)
from practice.lib.inserting import insert
from practice.models import Photo, Visit
from practice.project.book.files_folder import FILES_CSV
from practice.project.book.files_horses import PHOTOS
from practice.project.book.reader import FolderRow
from practice.project.book.writer.common import BATCH, Writer


def write_invoices(writer: Writer) -> None:
    writer.add("charges.csv", Charge)
    writer.add("invoices.csv", Invoice, [])
    for row in writer.new("invoices.csv"):
        writer.touched_clients.add(writer.find("clients.csv", row["client"]).pk)
    locked = set()
    for rows in writer.batches("invoice_lines.csv"):
        lines = [_line(writer, row) for row in rows]
        insert(lines)
        locked |= {line.visit_id for line in lines if line.horse}
    for start in range(0, len(locked), BATCH):  # one that is not done any more was credited in full
        Visit.objects.done().filter(pk__in=sorted(locked)[start : start + BATCH]).update(locked=True)


def _line(writer: Writer, row: FolderRow) -> InvoiceLine:
    own = row["kind"] == "charge" and not row["horse"]
    return InvoiceLine(
        **writer.attributes(row, ["code"]),
        service=writer.find("services.csv", row["code"]) if row["kind"] == "service" else None,
        item=writer.find("items.csv", row["code"]) if row["kind"] == "material" else None,
        charge=writer.find("charges.csv", row["code"]) if own else None,
    )


def write_payments(writer: Writer) -> None:
    writer.add("bank_deposits.csv", BankDeposit)
    writer.add("payments.csv", Payment, ("ref", "reverses"))
    bounced = []
    for row in writer.new("payments.csv"):
        writer.touched_clients.add(writer.find("clients.csv", row["client"]).pk)
        if row["reverses"]:
            bounced.append(writer.find("payments.csv", row["ref"]))
            bounced[-1].reverses = writer.find("payments.csv", row["reverses"])
    Payment.objects.bulk_update(bounced, ["reverses"], batch_size=BATCH)
    writer.add("payment_changes.csv", PaymentChange)
    _chosen_settlements(writer)
    writer.add("expenses.csv", Expense)
    writer.add("repeating_expenses.csv", RepeatingExpense)
    writer.add("equipment.csv", Equipment)
    writer.add("estimated_payments.csv", EstimatedPayment)
    rows = writer.new("checked_warnings.csv")
    CheckedWarning.objects.bulk_create(CheckedWarning(date=row["date"], text=row["warning"]) for row in rows)
    writer.add("packs.csv", Pack)
    _files(writer)


def _files(writer: Writer) -> None:
    """Record which file an expense or a photo has; the files themselves are saved when all is written."""
    for row in writer.new(FILES_CSV):
        if expense := writer.find("expenses.csv", row["expense"]):
            Expense.objects.filter(pk=expense.pk).update(receipt=row["name"])
        elif photo := writer.find(PHOTOS, row["photo"]):
            Photo.objects.filter(pk=photo.pk).update(file=row["name"])
        writer.folder.new_files.append((row["what"], row.source))


def _chosen_settlements(writer: Writer) -> None:
    """Import what was settled by hand from payments that name nothing; the rest is worked out."""
    rows = []
    for row in writer.new("settlements.csv"):
        payment = writer.find("payments.csv", row["payment"])
        if row["by_hand"] and row["amount"] > 0 and not payment.invoice_id and not payment.visit_id:
            rows.append(Settlement(**writer.attributes(row)))
    Settlement.objects.bulk_create(rows, batch_size=BATCH)
    writer.touched_clients |= {row.payment.client_id for row in rows}
