"""Rules of credit notes: each takes of its invoice what is left there, and the tax that goes with it."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from billing.models import CreditNote
from billing.reports.credits import credits_of_invoice
from billing.rules.crediting import CreditableLine, CreditedInvoice
from billing.rules.lines import DISCOUNT
from practice.lib.errors import RuleBroken
from practice.project.book.checks.common import Checks
from practice.project.book.checks.money import taxes_of_row
from practice.project.book.reader import FolderRow

NOTES, LINES = "credit_notes.csv", "credit_note_lines.csv"


@dataclass
class _Standing:
    """An invoice as the credit notes looked at so far leave it, and the first day of the next one."""

    left: CreditedInvoice
    since: date
    named: str


def check_credit_notes(checks: Checks) -> None:
    lines = defaultdict(list)
    for row in checks.new(LINES):
        if checks.lookup.in_book(NOTES, row["credit_note"]):
            checks.complain(
                row, "credit_note", f'"{row["credit_note"]}" is already issued and cannot be changed'
            )
        lines[row["credit_note"]].append(row)
    standings: dict[str, _Standing | None] = {}
    for row in checks.new(NOTES):
        invoice = row["invoice"]
        if invoice not in standings:
            standings[invoice] = _standing(checks, invoice)
        if _check_row(checks, row) and standings[invoice]:
            _check_note(checks, row, lines[row["number"]], standings[invoice])


def _check_row(checks: Checks, row: FolderRow) -> bool:
    """Complain about what a credit note says of itself; return whether its amounts could be read."""
    sums = [row[name] for name in ("net", "tax", "total")]
    if None in sums:
        return False
    if sums[0] + sums[1] != sums[2]:
        checks.complain(row, "total", f"{sums[2]:f} is not net {sums[0]:f} plus tax {sums[1]:f}")
        return False
    if row["again"] and row["reason"] != CreditNote.Why.CORRECTION:
        checks.complain(row, "again", f"only a correction is billed again, not {row['reason']}")
    return row["issued"] is not None


def _standing(checks: Checks, number: str) -> _Standing | None:
    """Return an invoice of the book or of the folder before its new credit notes; None: it is unreadable."""
    known = checks.lookup.in_book("invoices.csv", number)
    if known is not None:
        credits = credits_of_invoice(known)
        named = credits.notes[-1][0] if credits.notes else known
        return _Standing(credits.standing, named.issued, named.number)
    invoice = next((row for row in checks.folder.rows("invoices.csv") if row["number"] == number), None)
    if invoice is None or None in (invoice["net"], invoice["tax"], invoice["issued"]):
        return None
    rows = [row for row in checks.new("invoice_lines.csv") if row["invoice"] == number]
    if any(row["net"] is None or taxes_of_row(row) is None for row in rows):
        return None
    lines = [CreditableLine(row["kind"], row["net"], taxes_of_row(row)) for row in rows]
    left = CreditedInvoice(lines, invoice["net"], invoice["tax"], checks.folder.currency)
    return _Standing(left, invoice["issued"], number)


def _check_note(checks: Checks, note: FolderRow, lines: list[FolderRow], standing: _Standing) -> None:
    if note["issued"] < standing.since:
        checks.complain(
            note, "issued", f"{note['issued']} is before {standing.named}, dated {standing.since}"
        )
    left = standing.left
    if not _are_there(checks, lines, left):
        return
    taken = {row["line"]: row["net"] for row in lines}
    if not lines and not left.has_lines:
        taken = {1: note["net"]}
    if sum(taken.values()) != note["net"]:
        message = f"{note['net']:f} does not match its lines, which add up to {sum(taken.values()):f}"
        checks.complain(note, "net", message)
        return
    named = {number: net for number, net in taken.items() if left.by_number[number].kind != DISCOUNT}
    try:
        credit = left.propose(named)
    except RuleBroken as error:
        checks.complain(note, "net", str(error))
        return
    if credit.lines != taken:
        checks.complain(note, "net", "the discounts of the invoice do not go with the lines credited")
    elif credit.tax != note["tax"]:
        message = f"{note['tax']:f} does not match the tax of its lines, {credit.tax:f}"
        checks.complain(note, "tax", message)
    left.credit(credit.lines, credit.tax)
    standing.since, standing.named = max(standing.since, note["issued"]), note["number"]


def _are_there(checks: Checks, lines: list[FolderRow], left: CreditedInvoice) -> bool:
    """Complain about lines that the invoice has not, that stand twice, or of which less is left."""
    seen, here = set(), left.left
    before = len(checks.folder.problems)
    for row in lines:
        number, net = row["line"], row["net"]
        if number not in here:
            checks.complain(row, "line", f"{number} is not a line of the invoice; it has {len(here)}")
        elif number in seen:
            checks.complain(row, "line", f"{number} appears twice on this credit note")
        elif net is None or abs(net) > abs(here[number]):
            checks.complain(row, "net", f"{net:f} is more than what is left of the line, {here[number]:f}")
        seen.add(number)
    return len(checks.folder.problems) == before
