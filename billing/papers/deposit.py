"""The slip of a bank deposit: the cash in one sum, each check by its number, and the total."""

from dataclasses import dataclass

from billing.models import BankDeposit
from billing.reports.deposits import deposit_page
from practice.lib import formats
from practice.lib.letterhead import Letterhead, letterhead
from practice.lib.pdf import render_pdf
from practice.lib.profile import Profile


@dataclass(frozen=True)
class CheckShown:
    """A check on the slip; `number` is a dash where none was written down."""

    number: str
    client: str
    received: str
    amount: str


@dataclass(frozen=True, kw_only=True)
class DepositPaper(Letterhead):
    """A deposit slip as it is printed."""

    date: str
    cash: str
    checks: list[CheckShown]
    checks_total: str
    count: str
    total: str
    note: str


def deposit_paper(deposit: BankDeposit) -> DepositPaper:
    """Return what the slip of a deposit shows, in the practice's language."""
    profile = Profile.current()
    page, style = deposit_page(deposit, profile), (profile.currency, profile.locale)
    return DepositPaper(
        **letterhead(profile, profile.locale),
        date=formats.long_date(deposit.date, profile.locale),
        cash=formats.amount(page.cash_total, *style),
        checks=[
            CheckShown(
                row.check_number or "–",
                row.client.name,
                formats.medium_date(row.date, profile.locale),
                formats.amount(row.amount, *style),
            )
            for row in page.checks
        ],
        checks_total=formats.amount(page.checks_total, *style),
        count=formats.counted(len(page.checks), "check"),
        total=formats.money(page.total, *style),
        note=deposit.note,
    )


def deposit_pdf(deposit: BankDeposit) -> bytes:
    """Return a deposit's slip as PDF, made anew each time. Raises PdfUnavailable."""
    return render_pdf("pdf/deposit.html", {"paper": deposit_paper(deposit)})
