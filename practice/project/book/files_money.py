"""The files of money, and those that hold what the book worked out."""

from decimal import Decimal

from billing.models import (
    Equipment,
    EstimatedPayment,
    Expense,
    Invoice,
    InvoiceLine,
    MileageRate,
    Pack,
    Payment,
    RepeatingExpense,
    Settlement,
)
from billing.models.mileage_rate import SCHEMES
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
    Column,
    File,
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
    Number,
    RefOf,
    Whole,
)
from stock.models import Valuation


def billing(money: Amount) -> tuple[File, ...]:
    return (
        File(
            "invoices.csv",
            (
                text("number", SHORT, required=True),
                ref("client", "clients.csv", required=True),
                Column("issued", DAY, required=True),
                Column("due", DAY, required=True),
                Column("net", money, required=True),
                Column("tax", money, required=True),
                Column("total", money, required=True),
                Column("credit_applied", money, default=ZERO),
                text("client_name", NAME),
                text("client_address"),
                text("practice_name", NAME),
                text("practice_address"),
            ),
            lambda: Invoice.objects.select_related("client").order_by("pk"),
            known_by=("number",),
        ),
        File(
            "payments.csv",
            (
                own_ref(),
                Column("date", DAY, required=True),
                ref("client", "clients.csv", required=True),
                Column("amount", money, required=True),
                Column("method", Choice(Payment.Method.values), required=True),
                Column("invoice", RefOf("invoices.csv"), get=through("invoice.number")),
                ref("visit", "visits.csv"),
                Column("tip", money, default=ZERO),
                text("note"),
            ),
            lambda: Payment.objects.select_related("client", "invoice", "visit").order_by("pk"),
            known_by=("ref",),
        ),
        File(
            "expenses.csv",
            (
                own_ref(),
                Column("date", DAY, required=True),
                Column("category", Choice(Expense.CATEGORIES), required=True),
                Column("amount", money, required=True),
                text("vendor", NAME),
                ref("vehicle", "vehicles.csv"),
                text("note"),
            ),
            lambda: Expense.objects.select_related("vehicle").order_by("pk"),
            known_by=("ref",),
        ),
        File(
            "repeating_expenses.csv",
            (
                own_ref(),
                Column("category", Choice(Expense.CATEGORIES), required=True),
                Column("amount", Amount(currency=money.currency, low=ZERO, above=True), required=True),
                Column("every", Choice(RepeatingExpense.Every.values), required=True),
                dated("from", "valid_from", required=True),
                dated("to", "valid_to"),
                text("vendor", NAME),
                ref("vehicle", "vehicles.csv"),
                text("note"),
                Column("answered_through", DAY),
            ),
            lambda: RepeatingExpense.objects.select_related("vehicle").order_by("pk"),
            known_by=("ref",),
        ),
        File(
            "equipment.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                Column("placed_in_service", DAY, required=True),
                Column("cost", Amount(currency=money.currency, low=ZERO), required=True),
                Column("disposed_on", DAY),
                Column("disposed_for", Amount(currency=money.currency, low=ZERO)),
                text("note"),
            ),
            lambda: Equipment.objects.order_by("pk"),
            known_by=("ref",),
        ),
        File(
            "estimated_payments.csv",
            (
                own_ref(),
                Column("date", DAY, required=True),
                Column("amount", Amount(currency=money.currency, low=ZERO, above=True), required=True),
                text("note"),
            ),
            lambda: EstimatedPayment.objects.order_by("pk"),
            known_by=("ref",),
        ),
        File(
            "packs.csv",
            (
                Column("year", Whole(1, 9999), required=True),
                Column("made_on", DAY, required=True),
                text("figures", required=True),
            ),
            lambda: Pack.objects.order_by("pk"),
        ),
        File(
            "mileage_rates.csv",
            (
                Column("scheme", Choice([name for name, _ in SCHEMES]), required=True),
                dated("from", "valid_from", required=True),
                Column("rate", NOT_NEGATIVE, required=True),
                dated("to", "valid_to"),
                Column("tier_from", NOT_NEGATIVE, default=ZERO),
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


def worked_out(money: Amount) -> tuple[File, ...]:
    return (
        File(
            "invoice_lines.csv",
            (
                Column("invoice", RefOf("invoices.csv"), get=through("invoice.number")),
                ref("client", "clients.csv", required=True),
                Column("kind", Choice(InvoiceLine.Kind.values), required=True),
                ref("visit", "visits.csv", required=True),
                ref("horse", "horses.csv", required=True),
                text("code", NAME),
                Column("quantity", POSITIVE, required=True),
                Column("unit_price", NOT_NEGATIVE, required=True),
                Column("share", Number(low=ZERO, high=Decimal(100), above=True), required=True),
                Column("net", money, required=True),
                text("tax_names"),
                text("tax_rates"),
                text("tax_areas"),
            ),
            invoice_lines,
        ),
        File(
            "settlements.csv",
            (
                ref("payment", "payments.csv", required=True),
                Column("invoice", RefOf("invoices.csv"), required=True, get=through("invoice.number")),
                Column("date", DAY, required=True),
                Column("amount", money, required=True),
                yes_no("by_hand"),
            ),
            lambda: Settlement.objects.select_related("payment", "invoice").order_by(
                "date", "payment", "invoice", "amount"
            ),
        ),
        File(
            "stock_movements.csv",
            (
                Column("date", DAY, required=True, get=through("movement.date")),
                ref("item", "items.csv", required=True),
                Column("kind", Choice(LEDGER_KINDS), required=True),
                Column("quantity", ANY, required=True),
                Column("cost", ANY, required=True),
                ref("location", "locations.csv"),
                ref("visit", "visits.csv", get=lambda row: row.visit_key),
                ref("horse", "horses.csv", get=lambda row: row.horse_key),
                text("reference", get=lambda row: row.reference),
                Column("on_hand", ANY, required=True),
                Column("value", ANY, required=True),
            ),
            stock_movements,
        ),
    )


def invoice_lines() -> list[InvoiceLine]:
    """Return the lines by invoice, then line; parts still waiting last."""
    rows = InvoiceLine.objects.select_related("invoice", "client", "visit", "horse", "service", "item")
    return sorted(rows, key=lambda row: (row.invoice_id is None, row.invoice_id or 0, row.pk))


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
