"""What the papers to a client have in common: to whom, which paper, its one figure, the sums at its end."""

from collections.abc import Iterable
from dataclasses import dataclass

from billing.papers.client_words import ClientWords
from billing.rules.totals import TaxRow, by_name_and_rate
from practice.lib.letterhead import Letterhead


@dataclass(frozen=True)
class TaxShown:
    """A tax in words, `State sales tax, 5% of 33.60`, and its amount."""

    words: str
    amount: str


@dataclass(frozen=True)
class ClosingSum:
    """A row of the closing block. `rank` is `total`, `due` for the figure it all leads to, or blank."""

    label: str
    amount: str
    rank: str = ""


@dataclass(frozen=True, kw_only=True)
class ClientLetter(Letterhead):
    """A paper that goes to a client, as `templates/pdf/letter.html` lays it out."""

    client_name: str
    client_address: str
    heading: str

    @property
    def title(self) -> str:
        """What the paper is called: `Invoice GF-2026-0187`."""
        raise NotImplementedError

    @property
    def running(self) -> str:
        """What the head of each further page calls it."""
        return self.title

    @property
    def facts(self) -> list[tuple[str, str]]:
        """What stands under the title: `("Date", "October 14, 2026")`."""
        raise NotImplementedError

    @property
    def figure(self) -> str:
        """The one amount beside `heading`, with its currency."""
        raise NotImplementedError

    @property
    def comes(self) -> list[ClosingSum]:
        """The sums at the end."""
        raise NotImplementedError


def taxes_shown(taxes: Iterable[TaxRow], words: ClientWords) -> list[TaxShown]:
    """Return taxes in words, one a name and rate."""
    return [
        TaxShown(f"{row.name}, {words.percent(row.rate)} of {words.amount(row.base)}", words.amount(row.tax))
        for row in by_name_and_rate(taxes)
    ]


def closing_taxes(taxes: list[TaxShown]) -> list[ClosingSum]:
    """Return the rows of the closing block that the taxes take."""
    return [ClosingSum(tax.words, tax.amount) for tax in taxes]
