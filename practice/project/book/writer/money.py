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
from practice.models import Visit
from practice.project.book.files_folder import FILES_CSV
from practice.project.book.writer.common import BATCH, Writer


def write_invoices(writer: Writer) -> None:
    writer.add("charges.csv", Charge)
    rows = writer.new("invoices.csv")
    invoices = [Invoice(**writer.attributes(row, [])) for row in rows]
    Invoice.objects.bulk_create(invoices, batch_size=BATCH)
    for row, invoice in zip(rows, invoices, strict=True):
        writer.lookup.objects["invoices.csv"][row["number"]] = invoice
        writer.touched_clients.add(invoice.client_id)
    lines = []
    for row in writer.new("invoice_lines.csv"):
        service = writer.find("services.csv", row["code"]) if row["kind"] == "service" else None
        item = writer.find("items.csv", row["code"]) if row["kind"] == "material" else None
        own = row["kind"] == "charge" and not row["horse"]
        charge = writer.find("charges.csv", row["code"]) if own else None
        lines.append(
            InvoiceLine(**writer.attributes(row, ["code"]), service=service, item=item, charge=charge)
        )
    InvoiceLine.objects.bulk_create(lines, batch_size=BATCH)
    locked = {line.visit_id for line in lines if line.horse}
    for start in range(0, len(locked), BATCH):  # one that is not done any more was credited in full
        Visit.objects.done().filter(pk__in=sorted(locked)[start : start + BATCH]).update(locked=True)


def write_payments(writer: Writer) -> None:
    writer.add("bank_deposits.csv", BankDeposit)
    payments = writer.add("payments.csv", Payment, ("ref", "reverses"))
    for row, payment in zip(writer.new("payments.csv"), payments, strict=True):
        payment.reverses = writer.find("payments.csv", row["reverses"])
    bounced = [payment for payment in payments if payment.reverses]
    Payment.objects.bulk_update(bounced, ["reverses"], batch_size=BATCH)
    writer.touched_clients |= {payment.client_id for payment in payments}
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
    """Record which receipt an expense has; the files themselves are saved when all is written."""
    for row in writer.new(FILES_CSV):
        if expense := writer.find("expenses.csv", row["expense"]):
            Expense.objects.filter(pk=expense.pk).update(receipt=row["name"])
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
