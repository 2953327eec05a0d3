"""The files that hold what the book worked out: invoice lines, settlements, the ledger."""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal

from django.db.models import F, QuerySet

from billing.models import CreditNote, CreditNoteLine, InvoiceLine, Settlement
from practice.models import MaterialReturn, MaterialUse
from practice.project.book.columns import (
    ANY,
    DAY,
    NAME,
    NUMBER,
    PERCENT,
    POSITIVE,
    ZERO,
    BookColumn,
    BookFile,
    ref,
    text,
    through,
    yes_no,
)
from practice.project.book.streams import completed, in_stream
from practice.project.book.values import Amount, Choice, Number, RefOf, Whole
from stock.models import Valuation

LEDGER_KINDS = (
    "receipt",
    "use",
    "return",
    "waste",
    "withdrawal",
    "count",
    "transfer",
    "correction",
    "reversal",
)


def worked_out(money: Amount) -> tuple[BookFile, ...]:
    return (
        BookFile(
            "invoice_lines.csv",
            (
                BookColumn("invoice", RefOf("invoices.csv"), get=through("invoice.number")),
                ref("client", "clients.csv", required=True),
                BookColumn("kind", Choice(InvoiceLine.Kind.values), required=True),
                ref("visit", "visits.csv"),
                ref("horse", "horses.csv"),
                text("code", NAME),
                BookColumn("quantity", POSITIVE, required=True),
                BookColumn("unit_price", NUMBER, required=True),
                BookColumn("share", Number(low=ZERO, high=Decimal(100), above=True), required=True),
                BookColumn("net", money, required=True),
                text("tax_names"),
                text("tax_rates"),
                text("tax_areas"),
                BookColumn("rebilled", Whole(0, 9999), default=0),
                BookColumn("percent", PERCENT),
            ),
            invoice_lines,
        ),
        BookFile(
            "credit_note_lines.csv",
            (
                BookColumn(
                    "credit_note",
                    RefOf("credit_notes.csv"),
                    required=True,
                    get=through("credit_note.number"),
                ),
                BookColumn("line", Whole(1, 999_999), required=True, get=lambda row: row.number),
                BookColumn("net", money, required=True),
            ),
            credit_note_lines,
        ),
        BookFile(
            "settlements.csv",
            (
                ref("payment", "payments.csv", required=True),
                BookColumn("invoice", RefOf("invoices.csv"), required=True, get=through("invoice.number")),
                BookColumn("date", DAY, required=True),
                BookColumn("amount", money, required=True),
                yes_no("by_hand"),
            ),
            lambda: Settlement.objects.select_related("payment", "invoice").order_by(
                "date", "payment", "invoice", "amount"
            ),
        ),
        BookFile(
            "stock_movements.csv",
            (
                BookColumn("date", DAY, required=True, get=through("movement.date")),
                ref("item", "items.csv", required=True),
                BookColumn("kind", Choice(LEDGER_KINDS), required=True),
                BookColumn("quantity", ANY, required=True),
                BookColumn("cost", ANY, required=True),
                ref("location", "locations.csv"),
                ref("visit", "visits.csv", get=lambda row: row.visit_key),
                ref("horse", "horses.csv", get=lambda row: row.horse_key),
                text("reference", get=lambda row: row.reference),
                BookColumn("on_hand", ANY, required=True),
                BookColumn("value", ANY, required=True),
            ),
            stock_movements,
        ),
    )


def invoice_lines() -> QuerySet[InvoiceLine]:
    """Return the lines by invoice, then line; parts still waiting last."""
    names = ("invoice", "client", "visit", "horse", "service", "item", "charge")
    return InvoiceLine.objects.select_related(*names).order_by(F("invoice_id").asc(nulls_last=True), "pk")


def credit_note_lines() -> Iterator[CreditNoteLine]:
    """Yield the lines of credit notes, by credit note, then line; `number` counts their invoice's lines."""
    numbers, counted = {}, Counter()
    lines = InvoiceLine.objects.filter(invoice__in=CreditNote.objects.values("invoice"))
    for key, invoice in lines.order_by("pk").values_list("pk", "invoice"):
        counted[invoice] += 1
        numbers[key] = counted[invoice]
    rows = CreditNoteLine.objects.select_related("credit_note").order_by("credit_note", "line", "pk")
    for row in in_stream(rows):
        row.number = numbers[row.line_id] if row.line_id else 1
        yield row


def stock_movements() -> Iterator[Valuation]:
    """Yield the ledger of all items in its order, with the keys of visit and horse and the reference."""
    named = ("movement", "item", "location", "movement__purchase")
    order = ("movement__date", "movement__rank", "movement__cause_order", "movement_id", "position")
    return completed(Valuation.objects.select_related(*named).order_by(*order), _with_jobs)


def _with_jobs(rows: list[Valuation]) -> list[Valuation]:
    facts = {"movement__in": {row.movement_id for row in rows}}
    uses = MaterialUse.objects.filter(**facts).select_related("visit", "horse")
    returns = MaterialReturn.objects.filter(**facts).select_related("visit", "horse")
    of = {row.movement_id: row for row in (*uses, *returns)}
    for row in rows:
        job = of.get(row.movement_id) if row.kind != "correction" else None
        row.visit_key, row.horse_key = (job.visit.key, job.horse.key) if job else (None, None)
        purchase = getattr(row.movement, "purchase", None)
        row.reference = purchase.reference if purchase and row.kind == "receipt" else ""
    return rows
