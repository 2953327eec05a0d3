"""Rules of invoices, payments, expenses and equipment."""

from collections import Counter, defaultdict
from decimal import Decimal

from billing.actions.payment_checks import check_payment
from billing.models import InvoiceLine, Payment, PaymentChange
from billing.rules.totals import Tax, read_taxes, totals
from practice.lib.errors import RuleBroken
from practice.project.book.checks.charges import is_of_a_visit
from practice.project.book.checks.common import Checks
from practice.project.book.reader import FolderRow

CHANGES = "payment_changes.csv"


def check_invoices(checks: Checks) -> None:
    lines, numbers, credited = defaultdict(list), Counter(), _credited(checks)
    for row in checks.new("invoice_lines.csv"):
        numbers[row["invoice"]] += 1
        gone = credited[row["invoice"], numbers[row["invoice"]]]
        _check_line(checks, row, is_credited=row["net"] == gone)
        if checks.lookup.in_book("invoices.csv", row["invoice"]):
            checks.complain(row, "invoice", f'"{row["invoice"]}" is already issued and cannot be changed')
        elif row["invoice"]:
            lines[row["invoice"]].append(row)
    for row in checks.new("invoices.csv"):
        sums = [row[name] for name in ("net", "tax", "total")]
        if None not in sums and sums[0] + sums[1] != sums[2]:
            checks.complain(row, "total", f"{sums[2]:f} is not net {sums[0]:f} plus tax {sums[1]:f}")
        elif row["credit_applied"] is not None and row["credit_applied"] < 0:
            checks.complain(row, "credit_applied", "must be at least 0")
        elif lines[row["number"]] and None not in sums:
            _check_sums(checks, row, lines[row["number"]])


def _credited(checks: Checks) -> dict[tuple[str, int], Decimal]:
    """Return what the folder's credit notes take of lines, by the invoice and the number of the line."""
    notes = {row["number"]: row["invoice"] for row in checks.folder.rows("credit_notes.csv")}
    taken: dict[tuple[str, int], Decimal] = defaultdict(Decimal)
    for row in checks.new("credit_note_lines.csv"):
        if row["net"] is not None and row["credit_note"] in notes:
            taken[notes[row["credit_note"]], row["line"]] += row["net"]
    return taken


def _check_line(checks: Checks, row: FolderRow, is_credited: bool) -> None:
    file = {"service": "services.csv", "material": "items.csv"}.get(row["kind"])
    if file and not _is_somewhere(checks, file, row["code"]):
        checks.complain(row, "code", f'"{row["code"]}" is not in {file}')
    elif row["kind"] == InvoiceLine.Kind.TRAVEL and row["code"]:
        checks.complain(row, "code", "must be blank for travel")
    if taxes_of_row(row) is None:
        checks.complain(row, "tax_rates", "tax_names, tax_rates and tax_areas do not match")
    status = checks.status_of(row["visit"]) if is_of_a_visit(row) else None
    if status not in (None, "done") and not is_credited:
        checks.complain(row, "visit", f'"{row["visit"]}" is {status}; only a done visit can be billed')


def _is_somewhere(checks: Checks, file: str, key: str) -> bool:
    if checks.lookup.in_book(file, key) is not None:
        return True
    return any(row["ref"] == key for row in checks.folder.rows(file))


def _check_sums(checks: Checks, invoice: FolderRow, lines: list[FolderRow]) -> None:
    taxed = [(line["net"], taxes_of_row(line)) for line in lines]
    if any(net is None or taxes is None for net, taxes in taxed):
        return
    for line in lines:
        if line["client"] != invoice["client"]:
            checks.complain(line, "client", f'invoice "{invoice["number"]}" belongs to another client')
    worked = totals(taxed, checks.folder.currency)
    if worked.net != invoice["net"]:
        checks.complain(
            invoice, "net", f"{invoice['net']:f} does not match its lines, which add up to {worked.net:f}"
        )
    elif invoice["tax"] not in (worked.tax, 0):
        checks.complain(
            invoice, "tax", f"{invoice['tax']:f} does not match the tax of its lines, {worked.tax:f}"
        )


def taxes_of_row(row: FolderRow) -> tuple[Tax, ...] | None:
    """Return the taxes that a line names; None if its three columns do not match."""
    try:
        return read_taxes(row["tax_names"], row["tax_rates"], row["tax_areas"])
    except ValueError:
        return None


def check_settlements(checks: Checks) -> None:
    """What was chosen by hand settles an invoice of the payment's client."""
    payers = {row["ref"]: row["client"] for row in checks.folder.rows("payments.csv")}
    clients = {row["number"]: row["client"] for row in checks.folder.rows("invoices.csv")}
    for row in checks.new("settlements.csv"):
        payment = checks.lookup.in_book("payments.csv", row["payment"])
        invoice = checks.lookup.in_book("invoices.csv", row["invoice"])
        payer = payment.client.key if payment else payers.get(row["payment"])
        whose = invoice.client.key if invoice else clients.get(row["invoice"])
        if payer and whose and payer != whose:
            checks.complain(row, "invoice", f'"{row["invoice"]}" belongs to another client')


def check_payments(checks: Checks) -> None:
    clients = {row["number"]: row["client"] for row in checks.folder.rows("invoices.csv")}
    for row in checks.new("payments.csv"):
        if row["amount"] is None or row["tip"] is None:
            continue
        try:
            check_payment(row["amount"], row["tip"], checks.folder.currency, row["bounced"])
        except RuleBroken as error:
            checks.complain(row, "tip" if row["tip"] else "amount", str(error))
        invoice = checks.lookup.in_book("invoices.csv", row["invoice"])
        whose = invoice.client.key if invoice else clients.get(row["invoice"])
        if row["invoice"] and whose and whose != row["client"]:
            checks.complain(row, "invoice", f'"{row["invoice"]}" belongs to another client')
    _check_bounced(checks)
    _check_deposits(checks)


def _check_deposits(checks: Checks) -> None:
    """Only cash and checks that came in are in a bank deposit, not before they did."""
    days = {row["ref"]: row["date"] for row in checks.folder.rows("bank_deposits.csv")}
    for row in checks.new("payments.csv"):
        if not row["deposit"] or row["amount"] is None:
            continue
        known = checks.lookup.in_book("bank_deposits.csv", row["deposit"])
        on = known.date if known else days.get(row["deposit"])
        if row["method"] not in Payment.DEPOSITED or row["amount"] < 0:
            checks.complain(row, "deposit", "only cash and checks that came in are deposited")
        elif on and row["date"] and row["date"] > on:
            checks.complain(row, "deposit", f"the deposit is of {on.isoformat()}, before the payment")


def _check_bounced(checks: Checks) -> None:
    """A row that says which check bounced takes back just that check, and no check bounces twice."""
    rows = {row["ref"]: row for row in checks.folder.rows("payments.csv")}
    seen = set()
    for row in checks.new("payments.csv"):
        if row["tip"] is not None and row["tip"] < 0 and not row["reverses"]:
            checks.complain(row, "reverses", "is required where the tip is below 0")
        if not row["reverses"]:
            continue
        check, known = rows.get(row["reverses"]), checks.lookup.in_book("payments.csv", row["reverses"])
        if row["reverses"] in seen or (known is not None and hasattr(known, "bounce")):
            checks.complain(row, "reverses", f'"{row["reverses"]}" bounced already')
        seen.add(row["reverses"])
        before = check or known and {"client": known.client.key, "amount": known.amount, "tip": known.tip}
        taken_back = before and (before["client"], -(before["amount"] or 0), -(before["tip"] or 0))
        if before and taken_back != (row["client"], row["amount"], row["tip"]):
            checks.complain(row, "reverses", f'must have the client, amount and tip of "{row["reverses"]}"')
        if not row["bounced"]:
            checks.complain(row, "bounced", "must be yes where a check is named")


def check_payment_changes(checks: Checks) -> None:
    """What a payment was before names a payment that is there, or was deleted."""
    gone = {row["payment"] for row in checks.new(CHANGES) if row["what"] == PaymentChange.What.DELETED}
    gone |= set(
        PaymentChange.objects.filter(what=PaymentChange.What.DELETED).values_list("payment", flat=True)
    )
    for row in checks.new(CHANGES):
        if row["payment"] not in gone and not _is_somewhere(checks, "payments.csv", row["payment"]):
            checks.complain(row, "payment", f'"{row["payment"]}" is not in payments.csv')


def check_possessions(checks: Checks) -> None:
    """What repeats ends after it begins; equipment is disposed of after it was bought."""
    for row in checks.new("repeating_expenses.csv"):
        checks.must_end_after_it_begins(row)
    for row in checks.new("equipment.csv"):
        checks.must_end_after_it_begins(row, "placed_in_service", "disposed_on")
        if row["disposed_for"] is not None and not row["disposed_on"]:
            checks.complain(row, "disposed_on", "is required if disposed_for is given")


def check_receipts(checks: Checks) -> None:
    """An expense has one receipt."""
    having = set()
    for row in checks.new("files.csv"):
        known = checks.lookup.in_book("expenses.csv", row["expense"])
        if row["expense"] in having or (known is not None and known.receipt):
            checks.complain(row, "expense", f'"{row["expense"]}" already has a receipt')
        having |= {row["expense"]} - {None}
