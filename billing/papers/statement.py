"""What a client's statement shows on paper and on its page: plain values, already in words."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.text import slugify

from billing.papers.client_words import ClientWords
from billing.papers.invoice import how_to_pay
from billing.papers.letter import ClientLetter, ClosingSum
from billing.reports.statement import OpenInvoice, Statement
from billing.rules.ageing import SPANS
from billing.rules.statements import BOUNCED, CREDIT_NOTE, INVOICE, PAYMENT, REFUND, BalancedMove, Move
from practice.lib import formats
from practice.lib.figures import SumRow
from practice.lib.formats import MINUS
from practice.lib.letterhead import letterhead
from practice.lib.pdf import render_pdf
from practice.lib.profile import Profile

NAMES = {
    INVOICE: "Invoice {}",
    CREDIT_NOTE: "Credit note {}",
    PAYMENT: "Payment, {}",
    REFUND: "Refund, {}",
    BOUNCED: "Bounced check",
}


@dataclass(frozen=True)
class StatementRow:
    """What moved the account: its day, what it was, what it adds or takes off, and the balance after it."""

    day: str
    name: str
    detail: str
    added: str
    taken: str
    balance: str


@dataclass(frozen=True)
class OpenRow:
    """An invoice that something is left to pay of."""

    number: str
    issued: str
    due: str
    age: str
    total: str
    open: str


@dataclass(frozen=True, kw_only=True)
class StatementPaper(ClientLetter):
    """A statement as it is printed. `sums` lead from the open invoices to the balance."""

    begin: str
    end: str
    begin_short: str
    end_short: str
    closing: str
    opening_balance: str
    rows: list[StatementRow]
    closing_balance: str
    open: list[OpenRow]
    ages: list[tuple[str, str]]
    sums: list[SumRow]
    how_to_pay: list[tuple[str, str]]
    is_owed: bool

    @property
    def title(self) -> str:
        return "Statement"

    @property
    def running(self) -> str:
        return f"Statement of {self.end}"

    @property
    def facts(self) -> list[tuple[str, str]]:
        return [("From", self.begin), ("To", self.end)]

    @property
    def figure(self) -> str:
        return self.closing

    @property
    def comes(self) -> list[ClosingSum]:
        *parts, balance = self.sums
        rows = [ClosingSum(row.label, row.sign + row.amount) for row in parts]
        return [*rows, ClosingSum(balance.label, balance.amount, "due")]


def statement_paper(statement: Statement, for_practice: bool = False) -> StatementPaper:
    """Return what a statement shows, in the client's language; `for_practice`: in the practice's own."""
    profile = Profile.current()
    words = ClientWords(statement, profile, for_practice)
    client, course, locale = statement.client, statement.course, words.locale
    return StatementPaper(
        **letterhead(profile, locale),
        client_name=client.name,
        client_address=client.address,
        begin=formats.long_date(statement.period.begin, locale),
        end=formats.long_date(statement.period.end, locale),
        begin_short=formats.medium_date(statement.period.begin, locale),
        end_short=formats.medium_date(statement.period.end, locale),
        heading=heading_of(course.closing),
        closing=words.money(abs(course.closing)),
        opening_balance=words.amount(course.opening),
        rows=[row_of(row, words) for row in course.rows],
        closing_balance=words.amount(course.closing),
        open=[open_row(row, statement, words) for row in statement.open],
        ages=[(span, words.amount(sum_)) for span, sum_ in zip(SPANS, statement.ages, strict=True)],
        sums=sums_of(statement, words),
        how_to_pay=how_to_pay(profile),
        is_owed=course.closing > 0,
    )


def statement_pdf(statement: Statement) -> bytes:
    """Return a statement's PDF, made anew each time. Raises PdfUnavailable."""
    return render_pdf("pdf/statement.html", {"paper": statement_paper(statement)})


def statement_file_name(statement: Statement) -> str:
    """Return a safe file name without its ending: `statement-ann-birch-2026-10-14`."""
    return f"statement-{slugify(statement.client.name) or 'client'}-{statement.period.end.isoformat()}"


def heading_of(balance: Decimal) -> str:
    """Say what the figure beside it is: what is owed, or the client's credit."""
    return "Balance due" if balance > 0 else "Your credit" if balance < 0 else "Nothing due"


def row_of(row: BalancedMove, words: ClientWords) -> StatementRow:
    """Return one row of the account."""
    move = row.move
    return StatementRow(
        formats.medium_date(move.date, words.locale),
        NAMES[move.kind].format(move.name.lower() if move.kind in (PAYMENT, REFUND) else move.name),
        detail_of(move, words),
        words.amount(move.amount) if move.amount > 0 else "",
        words.amount(-move.amount) if move.amount <= 0 else "",
        words.amount(row.balance),
    )


def detail_of(move: Move, words: ClientWords) -> str:
    """Say more of a move: `due October 28`, `for GF-2026-0187`, `and a tip of 5.00`."""
    details = [
        f"due {formats.day_and_month(move.due, words.locale, move.date)}" if move.due else "",
        f"for {move.invoice}" if move.invoice else "",
        f"and a tip of {words.amount(move.tip)}" if move.tip else "",
    ]
    return ", ".join(filter(None, details))


def open_row(row: OpenInvoice, statement: Statement, words: ClientWords) -> OpenRow:
    """Return an open invoice, and how late it is on the last day."""
    days, invoice = row.days_overdue(statement.period.end), row.invoice
    return OpenRow(
        invoice.number,
        formats.medium_date(invoice.issued, words.locale),
        formats.medium_date(invoice.due, words.locale),
        formats.days_over(days) if days > 0 else "not due yet",
        words.amount(invoice.total),
        words.amount(row.open),
    )


def sums_of(statement: Statement, words: ClientWords) -> list[SumRow]:
    """Return the sums that lead from the open invoices to the closing balance."""
    rows = [SumRow("", "Open invoices", words.amount(statement.open_total))]
    if statement.credit:
        rows.append(SumRow(MINUS, "Credit not used yet", words.amount(statement.credit)))
    if statement.beyond:
        rows.append(SumRow("+", "Refunded beyond what was paid", words.amount(statement.beyond)))
    return [*rows, SumRow("=", "Balance", words.amount(statement.course.closing), total=True)]
