"""A client's discount, and which negative charges wait so that nothing on an invoice is below zero. Pure.

A line is its net in the practice's currency and the taxes that apply to it: a set of rates. For an exempt
client they are those that would apply.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from decimal import Decimal

from billing.rules.totals import Tax
from practice.lib.money import round_money

Taxes = tuple[Tax, ...]
NetOfSet = tuple[Decimal, Taxes]


def discounts(parts: Iterable[NetOfSet], percent: Decimal, currency: str) -> list[NetOfSet]:
    """Return what a client's discount takes off each set of rates, below zero, in order of first appearance.

    `parts` are the client's parts of services and materials. Those of a set are added up first, then
    multiplied and rounded once (EN 16931, BR-S-08: the allowances of a rate lower its base). A discount of 0
    is left out.
    """
    bases: dict[Taxes, Decimal] = defaultdict(Decimal)
    for net, taxes in parts:
        bases[taxes] += net
    amounts = [(-round_money(base * percent / 100, currency) + 0, taxes) for taxes, base in bases.items()]
    return [(amount, taxes) for amount, taxes in amounts if amount]


def those_that_fit(lines: Iterable[NetOfSet], negative: Sequence[NetOfSet]) -> list[int]:
    """Return which negative charges go on an invoice of these lines, by their index, in order of entry.

    Where the base of a set of rates, then where the net would be below zero, the last entered wait.
    """
    bases: dict[Taxes, Decimal] = defaultdict(Decimal)
    for net, taxes in [*lines, *negative]:
        bases[taxes] += net
    kept = list(range(len(negative)))
    for index in reversed(range(len(negative))):
        net, taxes = negative[index]
        if taxes and bases[taxes] < 0:
            kept.remove(index)
            bases[taxes] -= net
    total = sum(bases.values(), Decimal(0))
    while kept and total < 0:
        total -= negative[kept.pop()][0]
    return kept
