"""The year's sums as rows that add up, for its page and its report on paper."""

from decimal import Decimal

from django.utils.text import capfirst

from billing.reports.year.miles import Miles
from billing.reports.year.words import Words
from billing.reports.year_end import YearEnd
from practice.lib.figures import SumRow


def received_rows(year: YearEnd, words: Words) -> list[SumRow]:
    """Return what was received, with what is included in it and taken off it, and the sales tax."""
    tax = capfirst(year.country.sales_tax)
    credited = year.invoiced.credited
    return [
        SumRow("", label, words.amount(value))
        for label, value in (
            ("Received", year.income.total),
            ("Tips included", year.income.tips),
            ("Refunds taken off", year.income.refunds - year.income.bounced),
            ("Bounced checks taken off", year.income.bounced),
            (f"{tax} received", year.income.tax),
            (f"{tax} invoiced", year.invoiced.tax),
            *([("Credit notes, taken off what is invoiced", credited)] * bool(credited)),
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
    total, more = words.tenths(miles.total)[0], "" if miles.is_measured else "at least "
    late = bool(miles.unlogged) or not miles.is_measured
    return [
        *(SumRow(sign, label, *words.tenths(value)) for sign, label, value in rows),
        SumRow("+", "Not logged, never claimed", words.not_logged(miles), late=late),
        SumRow("=", "Total", f"{more}{total}", total=True),
    ]


def beside_rows(miles: Miles, words: Words) -> list[SumRow]:
    """Return what stands beside the vehicles' costs: parking and tolls, and the costs that are left out."""
    if words.profile.scheme.parking_on_top:
        label = "Parking and tolls, on top of either"
    else:
        label = "Parking and tolls, not added to the standard rate"
    rows = [SumRow("", label, words.amount(miles.parking_and_tolls))]
    if miles.left_out:
        rows.append(
            SumRow("", "Costs that name no vehicle, left out", words.amount(miles.left_out), late=True)
        )
    return rows


def no_standard(miles: Miles, words: Words) -> str:
    """Return why no standard rate is shown; blank where one is."""
    if miles.standard.refused:
        most = words.profile.scheme.most_at_once
        return f"More than {most} vehicles were in use on one day, so no standard rate is shown."
    return "" if miles.standard.rows else "No standard rate: only actual costs are shown."
