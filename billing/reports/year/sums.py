"""The year's sums as rows that add up, for its page and its report on paper."""

from decimal import Decimal

from billing.reports.year.miles import Miles
from billing.reports.year.words import Words
from billing.reports.year_end import YearEnd
from practice.lib.figures import SumRow


def received_rows(year: YearEnd, words: Words) -> list[SumRow]:
    """Return what was received, with what is included in it and taken off it, and the sales tax."""
    tax = year.country.sales_tax
    tax = tax[0].upper() + tax[1:]
    return [
        SumRow("", label, words.amount(value))
        for label, value in (
            ("Received", year.income.total),
            ("Tips included", year.income.tips),
            ("Refunds and bounced checks taken off", year.income.refunds),
            (f"{tax} received", year.income.tax),
            (f"{tax} invoiced", year.invoiced.tax),
        )
    ]


def material_rows(year: YearEnd, words: Words) -> list[SumRow]:
    """Return what was on hand at the start + purchased − withdrawn + counted − used = on hand at the end."""
    materials = year.materials
    rows = (
        ("", f"On hand on {words.day_and_month(year.period.begin)}", materials.opening_value),
        ("+", "Purchased", materials.purchased),
        ("−", "Used on your own horses", materials.withdrawn),
        ("+", "Count differences", materials.count_adjustments),
        ("−", "Used, waste included", materials.used),
    )
    end = f"On hand on {words.day_and_month(year.period.end)}"
    return [
        *(SumRow(sign, label, words.amount(value)) for sign, label, value in rows),
        SumRow("=", end, words.amount(materials.closing_value), total=True),
    ]


def mile_rows(miles: Miles, words: Words) -> list[SumRow]:
    """Return business + commuting + personal + not logged = all distance."""
    rows: tuple[tuple[str, str, Decimal], ...] = (
        ("", "Business", miles.business),
        ("+", "Commuting", miles.commuting),
        ("+", "Personal", miles.personal),
    )
    unlogged, total = words.tenths(miles.unlogged, miles.total)
    return [
        *(SumRow(sign, label, *words.tenths(value)) for sign, label, value in rows),
        SumRow("+", "Not logged, never claimed", unlogged, late=bool(miles.unlogged)),
        SumRow("=", "Total", total, total=True),
    ]


def vehicle_cost_rows(miles: Miles, words: Words) -> list[SumRow]:
    """Return what the vehicles come to by the standard rate and by actual costs, and what comes on top."""
    standard = miles.standard
    rows = []
    if standard.refused:
        rows.append(SumRow("", "Standard rate", "not shown"))
    elif standard.rows:
        label = "Standard rate, provisional" if standard.provisional else "Standard rate"
        rows.append(SumRow("", label, words.amount(standard.total), total=True))
    actual = miles.actual
    share = f"{words.amount(actual.costs)} × {words.percent(actual.business_share * 100)}"
    return [
        *rows,
        SumRow("", f"Actual costs: {share}", words.amount(actual.amount), total=True),
        SumRow("", "Parking and tolls, on top of either", words.amount(miles.parking_and_tolls)),
    ]


def actual_cost_rows(miles: Miles, words: Words) -> list[SumRow]:
    """Return costs × business share = actual costs, as the report has them."""
    actual = miles.actual
    return [
        SumRow("", "Vehicle costs", words.amount(actual.costs)),
        SumRow("×", "Business share of the total distance", words.percent(actual.business_share * 100)),
        SumRow("=", "By actual costs", words.amount(actual.amount), total=True),
    ]
