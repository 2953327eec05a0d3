"""The files of money, and those that hold what the book worked out."""

from collections import Counter
from decimal import Decimal

from billing.models import (
    BillTo,
    CheckedWarning,
    CreditNote,
    CreditNoteLine,
    Equipment,
    EstimatedPayment,
    Expense,
    Invoice,
    InvoiceLine,
    MileageRate,
    Pack,
    Payment,
    PaymentChange,
    Rebilling,
    RepeatingExpense,
    Settlement,
)
from practice.lib.countries import rated_schemes
from practice.models import (
    MaterialReturn,
    MaterialUse,
)
from practice.project.book.columns import (
    ANY,
    DAY,
    NAME,
    NOT_NEGATIVE,
    POSITIVE,
    REASON,
    SHORT,
    ZERO,
    BookColumn,
    BookFile,
    dated,
    own_ref,
    ref,
    text,
    through,
    yes_no,
)
from practice.project.book.values import (
    Amount,
    Choice,
    Limited,
    Number,
    RefOf,
    Timestamp,
    Whole,
)
from stock.models import Valuation


def billing(money: Amount) -> tuple[BookFile, ...]:
    of_a_payment = (
        BookColumn("date", DAY, required=True),
        ref("client", "clients.csv", required=True),
        BookColumn("amount", money, required=True),
        BookColumn("method", Choice(Payment.Method.values), required=True),
        BookColumn("invoice", RefOf("invoices.csv"), get=through("invoice.number")),
        ref("visit", "visits.csv"),
        BookColumn("tip", money, default=ZERO),
        text("note"),
        yes_no("bounced"),
    )
    return (
        BookFile(
            "invoices.csv",
            (
                text("number", SHORT, required=True),
                ref("client", "clients.csv", required=True),
                BookColumn("issued", DAY, required=True),
                BookColumn("due", DAY, required=True),
                BookColumn("net", money, required=True),
                BookColumn("tax", money, required=True),
                BookColumn("total", money, required=True),
                BookColumn("credit_applied", money, default=ZERO),
                text("client_name", NAME),
                text("client_address"),
                text("practice_name", NAME),
                text("practice_address"),
            ),
            lambda: Invoice.objects.select_related("client").order_by("pk"),
            known_by=("number",),
        ),
        BookFile(
            "payments.csv",
            (own_ref(), *of_a_payment),
            lambda: Payment.objects.select_related("client", "invoice", "visit").order_by("pk"),
            known_by=("ref",),
        ),
        BookFile(
            "payment_changes.csv",
            (
                text("payment", NAME, required=True),
                BookColumn("what", Choice(PaymentChange.What.values), required=True),
                BookColumn("at", Timestamp(), required=True),
                text("by", Limited(150)),
                *of_a_payment,
            ),
            lambda: PaymentChange.objects.select_related("client", "invoice", "visit").order_by("pk"),
        ),
        BookFile(
            "bill_to.csv",
            (
                ref("horse", "horses.csv", required=True),
                ref("client", "clients.csv", required=True),
                dated("from", "valid_from"),
                dated("to", "valid_to"),
                ref("service", "services.csv"),
            ),
            lambda: BillTo.objects.select_related("horse", "client", "service").order_by("pk"),
        ),
        BookFile(
            "credit_notes.csv",
            (
                text("number", SHORT, required=True),
                BookColumn("invoice", RefOf("invoices.csv"), required=True, get=through("invoice.number")),
                BookColumn("issued", DAY, required=True),
                BookColumn("net", Amount(currency=money.currency, low=ZERO), required=True),
                BookColumn("tax", money, required=True),
                BookColumn("total", money, required=True),
                BookColumn("reason", Choice(CreditNote.Why.values), default=CreditNote.Why.CORRECTION.value),
                yes_no("again"),
                text("note"),
            ),
            lambda: CreditNote.objects.select_related("invoice").order_by("pk"),
            known_by=("number",),
        ),
        BookFile(
            "rebillings.csv",
            (
                ref("visit", "visits.csv", required=True),
                BookColumn(
                    "credit_note",
                    RefOf("credit_notes.csv"),
                    required=True,
                    get=through("credit_note.number"),
                ),
            ),
            lambda: Rebilling.objects.select_related("visit", "credit_note").order_by("pk"),
            known_by=("visit", "credit_note"),
        ),
        BookFile(
            "expenses.csv",
            (
                own_ref(),
                BookColumn("date", DAY, required=True),
                BookColumn("category", Choice(Expense.CATEGORIES), required=True),
                BookColumn("amount", money, required=True),
                text("vendor", NAME),
                ref("vehicle", "vehicles.csv"),
                text("note"),
            ),
            lambda: Expense.objects.select_related("vehicle").order_by("pk"),
            known_by=("ref",),
        ),
        BookFile(
            "repeating_expenses.csv",
            (
                own_ref(),
                BookColumn("category", Choice(Expense.CATEGORIES), required=True),
                BookColumn("amount", Amount(currency=money.currency, low=ZERO, above=True), required=True),
                BookColumn("every", Choice(RepeatingExpense.Every.values), required=True),
                dated("from", "valid_from", required=True),
                dated("to", "valid_to"),
                text("vendor", NAME),
                ref("vehicle", "vehicles.csv"),
                text("note"),
                BookColumn("answered_through", DAY),
            ),
            lambda: RepeatingExpense.objects.select_related("vehicle").order_by("pk"),
            known_by=("ref",),
        ),
        BookFile(
            "equipment.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                BookColumn("placed_in_service", DAY, required=True),
                BookColumn("cost", Amount(currency=money.currency, low=ZERO), required=True),
                BookColumn("disposed_on", DAY),
                BookColumn("disposed_for", Amount(currency=money.currency, low=ZERO)),
                text("note"),
            ),
            lambda: Equipment.objects.order_by("pk"),
            known_by=("ref",),
        ),
        BookFile(
            "estimated_payments.csv",
            (
                own_ref(),
                BookColumn("date", DAY, required=True),
                BookColumn("amount", Amount(currency=money.currency, low=ZERO, above=True), required=True),
                text("note"),
                BookColumn("tax_year", Whole(1900, 9998)),
            ),
            lambda: EstimatedPayment.objects.order_by("pk"),
            known_by=("ref",),
        ),
        BookFile(
            "checked_warnings.csv",
            (
                BookColumn("date", DAY, required=True),
                text("warning", required=True, get=through("text")),
            ),
            lambda: CheckedWarning.objects.order_by("pk"),
            known_by=("date", "warning"),
        ),
        BookFile(
            "packs.csv",
            (
                BookColumn("year", Whole(1, 9999), required=True),
                BookColumn("made_on", DAY, required=True),
                text("figures", required=True),
            ),
            lambda: Pack.objects.order_by("pk"),
        ),
        BookFile(
            "mileage_rates.csv",
            (
                BookColumn("scheme", Choice(tuple(rated_schemes())), required=True),
                dated("from", "valid_from", required=True),
                BookColumn("rate", NOT_NEGATIVE, required=True),
                dated("to", "valid_to"),
                BookColumn("tier_from", NOT_NEGATIVE, default=ZERO),
                text("source", REASON),
            ),
            lambda: MileageRate.objects.own().order_by("scheme", "valid_from", "tier_from"),
            known_by=("scheme", "from", "tier_from"),
        ),
    )


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
                ref("visit", "visits.csv", required=True),
                ref("horse", "horses.csv", required=True),
                text("code", NAME),
                BookColumn("quantity", POSITIVE, required=True),
                BookColumn("unit_price", NOT_NEGATIVE, required=True),
                BookColumn("share", Number(low=ZERO, high=Decimal(100), above=True), required=True),
                BookColumn("net", money, required=True),
                text("tax_names"),
                text("tax_rates"),
                text("tax_areas"),
                BookColumn("rebilled", Whole(0, 9999), default=0),
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


def invoice_lines() -> list[InvoiceLine]:
    """Return the lines by invoice, then line; parts still waiting last."""
    rows = InvoiceLine.objects.select_related("invoice", "client", "visit", "horse", "service", "item")
    return sorted(rows, key=lambda row: (row.invoice_id is None, row.invoice_id or 0, row.pk))


def credit_note_lines() -> list[CreditNoteLine]:
    """Return the lines of credit notes, by credit note, then line; `number` counts their invoice's lines."""
    rows = list(CreditNoteLine.objects.select_related("credit_note").order_by("credit_note", "line", "pk"))
    numbers, counted = {}, Counter()
    lines = InvoiceLine.objects.filter(invoice__in=CreditNote.objects.values("invoice"))
    for key, invoice in lines.order_by("pk").values_list("pk", "invoice"):
        counted[invoice] += 1
        numbers[key] = counted[invoice]
    for row in rows:
        row.number = numbers[row.line_id] if row.line_id else 1
    return rows


def stock_movements() -> list[Valuation]:
    """Return the ledger of all items in its order, with the keys of visit and horse and the reference."""
    uses = MaterialUse.objects.filter(movement__isnull=False).select_related("visit", "horse")
    returns = MaterialReturn.objects.select_related("visit", "horse")
    of = {row.movement_id: row for row in (*uses, *returns)}
    rows = list(
        Valuation.objects.select_related("movement", "item", "location", "movement__purchase").order_by(
            "movement__date",
            "movement__rank",
            "movement__cause_order",
            "movement_id",
            "position",
        )
    )
    for row in rows:
        job = of.get(row.movement_id) if row.kind != "correction" else None
        row.visit_key, row.horse_key = (job.visit.key, job.horse.key) if job else (None, None)
        purchase = getattr(row.movement, "purchase", None)
        row.reference = purchase.reference if purchase and row.kind == "receipt" else ""
    return rows
