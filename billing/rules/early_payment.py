"""The discount that a client may keep who pays early: what a credit note of it would take. Pure."""

from decimal import Decimal

from billing.rules.crediting import Credit, CreditedInvoice
from practice.lib.errors import RuleBroken
from practice.lib.money import round_money


def early_amounts(standing: CreditedInvoice, percent: Decimal) -> dict[int, Decimal]:
    """Return the percent of what is left of each line that can be named, by its number, rounded."""
    parts = {
        number: round_money(left * percent / 100, standing.currency)
        for number, left in standing.named_left.items()
    }
    return {number: part for number, part in parts.items() if part}


def early_credit(standing: CreditedInvoice, percent: Decimal) -> Credit | None:
    """Return what the credit note of an early-payment discount would take; None where it takes nothing.

    Each line is credited by its percent, its tax with it, so that the base of each rate is lowered
    (EN 16931, BR-S-08).
    """
    try:
        return standing.propose(early_amounts(standing, percent))
    except RuleBroken:
        return None
