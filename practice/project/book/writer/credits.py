"""Writing credit notes with their lines, and unlocking the visits that they free."""

from collections import defaultdict

from billing.actions.crediting import free_visits
from billing.models import CreditNote, CreditNoteLine, Invoice, InvoiceLine, Rebilling
from practice.project.book.writer.common import BATCH, Writer


def write_credit_notes(writer: Writer) -> None:
    """Write the new credit notes in their order, and what was said about the visits that they freed."""
    rows = writer.new("credit_notes.csv")
    notes = [CreditNote(**writer.attributes(row, [])) for row in rows]
    CreditNote.objects.bulk_create(notes, batch_size=BATCH)
    for row, note in zip(rows, notes, strict=True):
        writer.lookup.objects["credit_notes.csv"][row["number"]] = note
        writer.touched_clients.add(note.invoice.client_id)
    _write_lines(writer, notes)
    for invoice in Invoice.objects.filter(pk__in={note.invoice_id for note in notes}).order_by("pk"):
        free_visits(invoice)
    writer.add("rebillings.csv", Rebilling)


def _write_lines(writer: Writer, notes: list[CreditNote]) -> None:
    """Write the lines; a credit note without any, for an invoice without lines, takes its net of line 1."""
    lines, of_invoice = defaultdict(list), defaultdict(list)
    for row in writer.new("credit_note_lines.csv"):
        lines[row["credit_note"]].append((row["line"], row["net"]))
    named = {note.invoice_id for note in notes}
    for key, invoice in (
        InvoiceLine.objects.filter(invoice__in=named).order_by("pk").values_list("pk", "invoice")
    ):
        of_invoice[invoice].append(key)
    written = []
    for note in notes:
        own = of_invoice[note.invoice_id]
        for line, net in sorted(lines[note.number] or ([] if own else [(1, note.net)])):
            key = own[line - 1] if own else None
            written.append(CreditNoteLine(credit_note=note, line_id=key, net=net))
    CreditNoteLine.objects.bulk_create(written, batch_size=BATCH)
