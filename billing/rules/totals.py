"""Tax and totals of an invoice.

Rates that apply together are added up; for each set of the same names, areas and rates the taxable
lines are added up first, then multiplied and rounded once, and the tax is split among the names,
weighted by rate (Streamlined Sales and Use Tax Agreement, s. 324: state and local tax together; for
one rate the same as EN 16931, BR-CO-14, BR-CO-17 and BR-S-08).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation

from practice.lib.money import round_money, split


@dataclass(frozen=True)
class Tax:
    """A tax that applies: `rate` in percent, `area` blank where it applies everywhere."""

    name: str
    rate: Decimal
    area: str = ""


def write_taxes(taxes: Iterable[Tax]) -> tuple[str, str, str]:
    """Return taxes as an invoice line keeps them: names, rates and areas, each with `;` between."""
    taxes = list(taxes)
    return (
        ";".join(tax.name for tax in taxes),
        ";".join(f"{tax.rate:f}" for tax in taxes),
        ";".join(tax.area for tax in taxes),
    )


def read_taxes(names: str, rates: str, areas: str) -> tuple[Tax, ...]:
    """Return the taxes that `write_taxes` wrote. Raises ValueError for columns that do not match."""
    columns = [text.split(";") for text in (names, rates, areas)] if names else [[], [], []]
    if not names and (rates or areas.strip(";")):
        raise ValueError("rates or areas without names")
    try:
        return tuple(Tax(name, Decimal(rate), area) for name, rate, area in zip(*columns, strict=True))
    except InvalidOperation as error:
        raise ValueError(f"not a number among {rates!r}") from error


@dataclass(frozen=True)
class DatedRate:
    """A row of the tax table; `valid_to` None: it ends the day before the next row of its name and area."""

    name: str
    valid_from: date
    rate: Decimal
    valid_to: date | None = None
    area: str = ""


@dataclass(frozen=True)
class TaxRow:
    """The tax of one name, rate and area on an invoice; base and tax in the practice's currency."""

    name: str
    rate: Decimal
    area: str
    base: Decimal
    tax: Decimal


@dataclass(frozen=True)
class Totals:
    net: Decimal
    tax: Decimal
    total: Decimal
    taxes: tuple[TaxRow, ...]


def rates_on(rows: Sequence[DatedRate], on: date, area: str) -> tuple[Tax, ...]:
    """Return the taxes in force on a day in an area, in the order of each name's first row.

    `rows` are in order of entry. A row without an area applies everywhere.
    """
    latest: dict[tuple[str, str], DatedRate] = {}
    for row in rows:
        held = latest.get((row.name, row.area))
        if row.valid_from <= on and (held is None or row.valid_from >= held.valid_from):
            latest[row.name, row.area] = row
    names = list(dict.fromkeys(row.name for row in rows))
    in_force = [
        row
        for (_, where), row in latest.items()
        if where in ("", area) and (row.valid_to is None or on <= row.valid_to)
    ]
    in_force.sort(key=lambda row: names.index(row.name))
    return tuple(Tax(row.name, row.rate, row.area) for row in in_force)


def totals(lines: Iterable[tuple[Decimal, tuple[Tax, ...]]], currency: str, exempt: bool = False) -> Totals:
    """Return the totals of an invoice's lines, each its net amount and the taxes that apply to it.

    An exempt client pays no tax. Rows of `taxes` stand in order of first appearance.
    """
    net, bases = Decimal(0), {}
    for amount, taxes in lines:
        net += amount
        if taxes and not exempt:
            bases[taxes] = bases.get(taxes, Decimal(0)) + amount
    rows = [row for taxes, base in bases.items() for row in tax_of_set(taxes, base, currency)]
    tax = sum((row.tax for row in rows), Decimal(0))
    return Totals(net, tax, net + tax, tuple(rows))


def taxes_of(
    lines: Sequence[tuple[Decimal, tuple[Tax, ...]]], tax: Decimal, currency: str
) -> tuple[TaxRow, ...]:
    """Return the tax rows of an issued invoice from its lines and its tax; none where it was exempt."""
    worked = totals(lines, currency)
    return () if worked.tax and not tax else worked.taxes


def tax_of_set(taxes: tuple[Tax, ...], base: Decimal, currency: str) -> list[TaxRow]:
    """Return the tax on one base: worked out together and rounded once, then split among the names."""
    rate = sum(tax.rate for tax in taxes)
    if rate == 0:
        parts = [Decimal(0)] * len(taxes)
    else:
        parts = split(round_money(base * rate / 100, currency), [tax.rate for tax in taxes], currency)
    return [TaxRow(tax.name, tax.rate, tax.area, base, part) for tax, part in zip(taxes, parts, strict=True)]


def by_name_and_rate(rows: Iterable[TaxRow]) -> list[TaxRow]:
    """Return one row per name and rate, areas together, in order of first appearance."""
    merged: dict[tuple[str, Decimal], TaxRow] = {}
    for row in rows:
        held = merged.get((row.name, row.rate))
        base, tax = (held.base, held.tax) if held else (Decimal(0), Decimal(0))
        merged[row.name, row.rate] = TaxRow(row.name, row.rate, "", base + row.base, tax + row.tax)
    return list(merged.values())
