"""The files of money."""

from django.db.models import QuerySet

from billing.models import (
    BankDeposit,
    BillTo,
    Charge,
    CheckedWarning,
    CreditNote,
    Equipment,
    EstimatedPayment,
    Expense,
    Invoice,
    MileageRate,
    Pack,
    Payment,
    PaymentChange,
    Rebilling,
    RepeatingExpense,
)
from practice.lib.countries import rated_schemes
from practice.project.book.columns import (
    DAY,
    NAME,
    NOT_NEGATIVE,
    NUMBER,
    ONE,
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
    RefOf,
    Timestamp,
    Whole,
)


def payments() -> QuerySet[Payment]:
    """Return the payments in order of entry, with what their rows name."""
    named = Payment.objects.select_related("client", "invoice", "visit", "reverses", "deposit")
    return named.order_by("pk")


def billing(money: Amount) -> tuple[BookFile, ...]:
    of_a_payment = (
        BookColumn("date", DAY, required=True),
        ref("client", "clients.csv", required=True),
        BookColumn("amount", money, required=True),
        BookColumn("method", Choice(Payment.Method.values), required=True),
        BookColumn("invoice", RefOf("invoices.csv"), get=through("invoice.number")),
        ref("visit", "visits.csv"),
        BookColumn("tip", money, default=ZERO),
        text("check_number", Limited(40)),
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
            "bank_deposits.csv",
            (own_ref(), BookColumn("date", DAY, required=True), text("note")),
            lambda: BankDeposit.objects.order_by("pk"),
            known_by=("ref",),
        ),
        BookFile(
            "payments.csv",
            (own_ref(), *of_a_payment, ref("reverses", "payments.csv"), ref("deposit", "bank_deposits.csv")),
            payments,
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
                text("invoices"),
            ),
            lambda: PaymentChange.objects.select_related("client", "invoice", "visit").order_by("pk"),
        ),
        BookFile(
            "charges.csv",
            (
                own_ref(),
                BookColumn("date", DAY, required=True),
                ref("client", "clients.csv", required=True),
                text("name", NAME, required=True),
                BookColumn("quantity", POSITIVE, default=ONE),
                BookColumn("unit_price", NUMBER, required=True),
                yes_no("taxable"),
                ref("visit", "visits.csv"),
                BookColumn("kind", Choice(Charge.Kind.values), default=Charge.Kind.OTHER.value),
            ),
            lambda: Charge.objects.select_related("client", "visit").order_by("pk"),
            known_by=("ref",),
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
                yes_no("again", default=True),
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
                ref("payment", "payments.csv"),
            ),
            lambda: Expense.objects.select_related("vehicle", "payment").order_by("pk"),
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
