"""Rules of the lines of invoices that belong to no horse: charges, and clients' discounts."""

from billing.models import Charge, InvoiceLine
from billing.rules.lines import MINIMUM
from practice.project.book.checks.common import Checks
from practice.project.book.reader import FolderRow
from practice.rules.charges import line_amount

CHARGES, LINES = "charges.csv", "invoice_lines.csv"
KIND = InvoiceLine.Kind


def check_own_lines(checks: Checks) -> None:
    """A charge is on one invoice, as it stands in its file; a discount names nothing and takes off."""
    charges = {row["ref"]: row for row in checks.new(CHARGES)}
    invoiced = set()
    for row in checks.new(LINES):
        if is_of_a_visit(row):
            _check_of_a_visit(checks, row)
            continue
        if not row["invoice"]:
            checks.complain(row, "invoice", f"is required for a {row['kind']} without a horse")
        if row["kind"] == KIND.DISCOUNT:
            _check_discount(checks, row)
            continue
        known = checks.lookup.in_book(CHARGES, row["code"])
        charge = charges.get(row["code"]) or (known and _values(known))
        if charge is None:
            checks.complain(row, "code", f'"{row["code"]}" is not in {CHARGES}')
        elif row["code"] in invoiced or (known and known.invoice):
            checks.complain(row, "code", f'"{row["code"]}" is invoiced twice')
        else:
            _check_charge(checks, row, charge)
        invoiced.add(row["code"])


def is_of_a_visit(row: FolderRow) -> bool:
    """Whether a line is a part of what a visit bills; not a row of charges, nor a client's discount."""
    return row["kind"] not in (KIND.CHARGE, KIND.DISCOUNT) or bool(
        row["horse"] and row["kind"] == KIND.CHARGE
    )


def _check_of_a_visit(checks: Checks, row: FolderRow) -> None:
    for column in ("visit", "horse"):
        if not row[column]:
            checks.complain(row, column, f'is required for the kind "{row["kind"]}"')
    if row["unit_price"] is not None and row["unit_price"] < 0:
        checks.complain(row, "unit_price", "must be at least 0 here")
    if row["kind"] == KIND.CHARGE and row["code"] != MINIMUM:
        checks.complain(row, "code", f'must be "{MINIMUM}" for a charge with a horse')


def _check_discount(checks: Checks, row: FolderRow) -> None:
    for column in ("visit", "horse", "code"):
        if row[column]:
            checks.complain(row, column, "must be blank for a discount")
    if row["net"] is not None and row["net"] > 0:
        checks.complain(row, "net", "must be at most 0 for a discount")


def _check_charge(checks: Checks, row: FolderRow, charge: FolderRow | dict) -> None:
    for column in ("client", "visit", "quantity", "unit_price"):
        if row[column] != charge[column]:
            checks.complain(row, column, f'is not what charge "{row["code"]}" has')
    if None not in (row["quantity"], row["unit_price"], row["net"]):
        amount = line_amount(row["quantity"], row["unit_price"], checks.folder.currency)
        if row["net"] != amount:
            checks.complain(row, "net", f"{row['net']:f} is not quantity times unit_price, {amount:f}")


def _values(charge: Charge) -> dict:
    return {
        "client": charge.client.key,
        "visit": charge.visit.key if charge.visit else None,
        "quantity": charge.quantity,
        "unit_price": charge.unit_price,
    }
