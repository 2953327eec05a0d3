"""What is left of an invoice's lines, and what a credit note takes of them. Pure, on plain values.

The tax of each set of rates is what the rates make of all that is credited of its base so far, rounded and
split among the names as on the invoice, less what earlier credit notes took: the note that brings a base to
zero takes the tax that is left, in whatever parts it was credited.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, localcontext

from billing.rules.lines import DISCOUNT, DISCOUNTED
from billing.rules.totals import Tax, TaxRow, tax_of_set, totals
from practice.lib.errors import RuleBroken
from practice.lib.money import PRECISION, round_money, split

ZERO = Decimal(0)
Amounts = Mapping[int, Decimal | None]


@dataclass(frozen=True)
class CreditableLine:
    """A line of an invoice: its net in the practice's currency, and the taxes that apply to it."""

    kind: str
    net: Decimal
    taxes: tuple[Tax, ...] = ()


@dataclass(frozen=True)
class Credit:
    """What one credit note takes: the net of each line by its number, from 1, with the sign of the line.

    `taxes` stand in the order of the invoice's rates, with the base that was credited; on a client's note who
    is exempt their tax is 0.
    """

    lines: dict[int, Decimal]
    tax: Decimal
    taxes: tuple[TaxRow, ...] = ()

    @property
    def net(self) -> Decimal:
        return sum(self.lines.values(), ZERO)

    @property
    def total(self) -> Decimal:
        return self.net + self.tax


@dataclass
class CreditedInvoice:
    """An invoice as its credit notes leave it. `credit` adds one after the other, in the order of issue.

    An invoice without lines counts as one line of its net, with its tax in proportion; so does the tax of one
    that was brought in with a tax that its lines do not have.
    """

    lines: Sequence[CreditableLine]
    net: Decimal
    tax: Decimal
    currency: str
    credited: dict[int, Decimal] = field(default_factory=dict)
    tax_credited: Decimal = ZERO

    def __post_init__(self):
        self.has_lines = bool(self.lines)
        if not self.has_lines:
            self.lines = [CreditableLine("", self.net)]
        self.by_number = dict(enumerate(self.lines, start=1))
        self.charged = totals([(line.net, line.taxes) for line in self.lines], self.currency)
        self.is_exempt = bool(self.charged.tax) and not self.tax

    # What is left

    @property
    def left(self) -> dict[int, Decimal]:
        """What is left of each line by its number."""
        return {number: line.net - self.credited.get(number, ZERO) for number, line in self.by_number.items()}

    @property
    def named_left(self) -> dict[int, Decimal]:
        """What is left of the lines that can be named: a discount goes with its lines."""
        return {
            number: left
            for number, left in self.left.items()
            if left and self.by_number[number].kind != DISCOUNT
        }

    @property
    def net_left(self) -> Decimal:
        return sum(self.left.values(), ZERO)

    @property
    def tax_left(self) -> Decimal:
        return self.tax - self.tax_credited

    @property
    def rates(self) -> tuple[TaxRow, ...]:
        """The tax rows of the invoice before any credit note, one for each name of each set of rates."""
        return tuple(self._rows(None))

    @property
    def rates_left(self) -> tuple[TaxRow, ...]:
        """The tax rows of the invoice less its credit notes, in the order of `rates`."""
        return tuple(_less(*pair) for pair in zip(self.rates, self._rows(self.credited), strict=True))

    @property
    def is_without_rates(self) -> bool:
        """Whether it has a tax that no rate on its lines explains."""
        return bool(self.tax) and not self.charged.tax

    # A credit note

    def propose(self, amounts: Amounts | None = None) -> Credit:
        """Return what a credit note of these amounts would take; nothing is changed.

        `amounts` by the number of the line, None instead of an amount: all that is left of it; without
        `amounts` all that is left of the invoice. Raises RuleBroken: `credit_nothing_left`,
        `credit_line_unknown`, `credit_discount_line`, `credit_amount_too_fine`, `credit_wrong_sign`,
        `credit_more_than_left`, `credit_below_zero`, `credit_base_below_zero`.
        """
        left = self.named_left
        taken = dict(left) if amounts is None else self._named(amounts, left)
        taken = {number: amount for number, amount in sorted(taken.items()) if amount}
        if not taken:
            raise RuleBroken("credit_nothing_left", "Nothing is left to credit here.")
        return self.worked_out(taken)

    def worked_out(self, taken: Mapping[int, Decimal]) -> Credit:
        """Return the credit note that takes these amounts, and what goes with them. Raises as `propose`."""
        after = dict(self.credited)
        for number, amount in taken.items():
            after[number] = after.get(number, ZERO) + amount
        for number, amount in self._discounts(after).items():
            after[number] = amount
        lines = {
            number: after[number] - self.credited.get(number, ZERO)
            for number in sorted(after)
            if after[number] != self.credited.get(number, ZERO)
        }
        self._check_sums(lines, after)
        rows = [_less(*pair) for pair in zip(self._rows(after), self._rows(self.credited), strict=True)]
        tax = self._tax(after) - self.tax_credited
        return Credit(lines, tax, tuple(row for row in rows if row.base or row.tax))

    def credit(self, lines: Mapping[int, Decimal], tax: Decimal) -> Credit:
        """Take an issued credit note off: the amounts of its lines, and its tax. Return its tax rows too."""
        before = self._rows(self.credited)
        for number, amount in lines.items():
            self.credited[number] = self.credited.get(number, ZERO) + amount
        self.tax_credited += tax
        rows = [_less(*pair) for pair in zip(self._rows(self.credited), before, strict=True)]
        return Credit(dict(lines), tax, tuple(row for row in rows if row.base or row.tax))

    def _named(self, amounts: Amounts, left: dict[int, Decimal]) -> dict[int, Decimal]:
        taken = {}
        for number, amount in amounts.items():
            line = self.by_number.get(number)
            if line is None:
                raise RuleBroken(
                    "credit_line_unknown",
                    f"The invoice has no line {number}. Its lines are numbered from 1 to {len(self.lines)}.",
                )
            if line.kind == DISCOUNT:
                raise RuleBroken(
                    "credit_discount_line",
                    f"Line {number} is a discount. It goes with its lines: name those.",
                )
            here = left.get(number, ZERO)
            if amount is not None:
                self._check_amount(number, amount, here)
            taken[number] = here if amount is None else amount
        return taken

    def _check_amount(self, number: int, amount: Decimal, left: Decimal) -> None:
        if amount != round_money(amount, self.currency):
            raise RuleBroken("credit_amount_too_fine", f"{amount} has too many decimals for {self.currency}.")
        if left and (amount == 0 or (amount > 0) != (left > 0)):
            side = "above" if left > 0 else "below"
            raise RuleBroken("credit_wrong_sign", f"Line {number}: enter an amount {side} 0.")
        if abs(amount) > abs(left):
            raise RuleBroken(
                "credit_more_than_left",
                f"Line {number}: {amount} is more than what is left of it,"
                f" {round_money(left, self.currency)}.",
            )

    def _discounts(self, after: Mapping[int, Decimal]) -> dict[int, Decimal]:
        """Return what is credited of each discount line once `after` is credited of its lines."""
        amounts = {}
        for number, line in self.by_number.items():
            if line.kind != DISCOUNT:
                continue
            its = [n for n, other in self.by_number.items() if _is_discounted(other, line)]
            whole = sum((self.by_number[n].net for n in its), ZERO)
            part = sum((after.get(n, ZERO) for n in its), ZERO)
            if whole:
                amounts[number] = in_proportion(line.net, part, whole, self.currency)
        return amounts

    def _check_sums(self, lines: Mapping[int, Decimal], after: Mapping[int, Decimal]) -> None:
        if sum(lines.values(), ZERO) < 0 or self.net < sum(after.values(), ZERO):
            raise RuleBroken(
                "credit_below_zero",
                "Neither the credit note nor what is left of the invoice may be below zero."
                " Credit the lines below zero as well, or fewer of them.",
            )
        whole, gone = self._bases(None), self._bases(after)
        if any(whole[taxes] < base for taxes, base in gone.items()):
            raise RuleBroken(
                "credit_base_below_zero",
                "What is left of the amount that a tax is on may not be below zero."
                " Credit the lines below zero as well.",
            )

    # The tax

    def _bases(self, amounts: Mapping[int, Decimal] | None) -> dict[tuple[Tax, ...], Decimal]:
        """Return what of each set of rates' base is in these amounts; None: the whole lines."""
        bases: dict[tuple[Tax, ...], Decimal] = {}
        for number, line in self.by_number.items():
            if line.taxes:
                amount = line.net if amounts is None else amounts.get(number, ZERO)
                bases[line.taxes] = bases.get(line.taxes, ZERO) + amount
        return bases

    def _rows(self, amounts: Mapping[int, Decimal] | None) -> list[TaxRow]:
        """Return the tax rows of these amounts, one for each name of each set; None: of the whole lines."""
        rows = [
            row
            for taxes, base in self._bases(amounts).items()
            for row in tax_of_set(taxes, base, self.currency)
        ]
        if self.is_exempt:
            return [TaxRow(row.name, row.rate, row.area, row.base, ZERO) for row in rows]
        if self.charged.tax == self.tax or not self.charged.tax:
            return rows
        weights = [row.tax for row in self.charged.taxes]
        parts = split(self._tax(amounts), weights, self.currency)
        return [
            TaxRow(row.name, row.rate, row.area, row.base, part)
            for row, part in zip(rows, parts, strict=True)
        ]

    def _tax(self, amounts: Mapping[int, Decimal] | None) -> Decimal:
        if self.has_lines and self.charged.tax == self.tax:
            return sum((row.tax for row in self._rows(amounts)), ZERO)
        if amounts is None or not self.net:
            return self.tax
        return in_proportion(self.tax, sum(amounts.values(), ZERO), self.net, self.currency)


def _is_discounted(line: CreditableLine, discount: CreditableLine) -> bool:
    return line.kind in DISCOUNTED and line.taxes == discount.taxes


def _less(whole: TaxRow, part: TaxRow) -> TaxRow:
    return TaxRow(whole.name, whole.rate, whole.area, whole.base - part.base, whole.tax - part.tax)


def in_proportion(amount: Decimal, part: Decimal, whole: Decimal, currency: str) -> Decimal:
    """Return amount × part / whole, rounded once."""
    with localcontext(prec=PRECISION):
        return round_money(amount * part / whole, currency)


@dataclass(frozen=True)
class BilledPart:
    """What a visit was billed to one client: its net, what credit notes left of it, and by what reasons.

    `net` None: the part waits for its invoice. `is_gone`: nothing at all is left of its invoice, and
    something was credited.
    """

    net: Decimal | None
    left: Decimal = ZERO
    corrections_only: bool = True
    is_gone: bool = False


def is_freed(parts: Iterable[BilledPart]) -> bool:
    """Whether every part of a visit that was invoiced is credited in full, by corrections alone.

    Parts of 0 count as credited where the parts beside them are; a visit of nothing else once its invoice is.
    """
    parts = [part for part in parts if part.net is not None]
    nonzero = [part for part in parts if part.net]
    if not all(part.corrections_only for part in parts):
        return False
    if nonzero:
        return not any(part.left for part in nonzero)
    return bool(parts) and all(part.is_gone for part in parts)
