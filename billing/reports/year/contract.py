"""The year under the keys of the book's contract: every number as text in plain decimal notation."""

from collections.abc import Iterable
from decimal import Decimal

from billing.reports.year.materials import Materials
from billing.reports.year.miles import Miles, VehicleMiles
from billing.reports.year_end import YearEnd
from billing.rules.mileage import Actual, StandardRow
from practice.lib.money import round_money
from practice.lib.plain import plain


class Amounts:
    """Writes amounts with the digits of a currency."""

    def __init__(self, currency: str):
        self.currency = currency

    def __call__(self, value: Decimal) -> str:
        return f"{round_money(value, self.currency):f}"

    def many(self, values: Iterable[Decimal]) -> list[str]:
        return [self(value) for value in values]


def by_contract(year: YearEnd) -> dict:
    """Return a year as the document that `year_end --json` prints."""
    amount = Amounts(year.currency)
    income, invoiced = year.income, year.invoiced
    return {
        "year": year.year,
        "from": year.period.begin.isoformat(),
        "to": year.period.end.isoformat(),
        "currency": year.currency,
        "received": {
            "total": amount(income.total),
            "net_of_tax": amount(income.net_of_tax),
            "refunds": amount(income.refunds),
            "tips": amount(income.tips),
            "by_month": amount.many(income.by_month),
        },
        "invoiced": {
            "net": amount(invoiced.net),
            "tax": amount(invoiced.tax),
            "total": amount(invoiced.total),
            "by_month": amount.many(invoiced.by_month),
        },
        "receivable_at_year_end": amount(year.accounts.receivable),
        "credits_at_year_end": amount(year.accounts.credit),
        "tax_charged": amount(invoiced.tax),
        "tax_collected": amount(income.tax),
        "materials": materials_by_contract(year.materials, amount),
        "expenses": [
            {
                "category": row.category,
                "amount": amount(row.amount),
                "schedule_c_line": year.country.schedule_c_line(row.category),
            }
            for row in year.expenses.rows
        ],
        "mileage": mileage_by_contract(year.miles, amount),
        "visits": year.work.visits,
        "horses_seen": year.work.horses_seen,
        "work_by_service": [
            {"service": row.service.key, "count": plain(row.count), "net": amount(row.net)}
            for row in year.work.by_service
        ],
        "warnings": [warning.text for warning in year.warnings],
    }


def materials_by_contract(materials: Materials, amount: Amounts) -> dict:
    return {
        "opening_value": amount(materials.opening_value),
        "purchased": amount(materials.purchased),
        "withdrawn": amount(materials.withdrawn),
        "used": amount(materials.used),
        "count_adjustments": amount(materials.count_adjustments),
        "closing_value": amount(materials.closing_value),
    }


def mileage_by_contract(miles: Miles, amount: Amounts) -> dict:
    return {
        "unit": miles.unit,
        "business": plain(miles.business),
        "commuting": plain(miles.commuting),
        "personal": plain(miles.personal),
        "unlogged": plain(miles.unlogged),
        "total": plain(miles.total),
        "vehicles": [vehicle_by_contract(row, amount) for row in miles.vehicles],
        "standard": [standard_by_contract(row, amount) for row in miles.standard.rows],
        "standard_total": amount(miles.standard.total),
        "parking_and_tolls": amount(miles.parking_and_tolls),
        "actual": actual_by_contract(miles.actual, amount),
    }


def vehicle_by_contract(row: VehicleMiles, amount: Amounts) -> dict:
    driven, actual = row.driven, actual_by_contract(row.actual, amount)
    first, last = driven.first_odometer, driven.last_odometer
    return {
        "vehicle": driven.vehicle.key,
        "business": plain(driven.business),
        "commuting": plain(driven.commuting),
        "personal": plain(driven.personal),
        "first_odometer": None if first is None else plain(first),
        "last_odometer": None if last is None else plain(last),
        "unlogged": plain(driven.unlogged) if driven.is_measured else None,
        "costs": actual["costs"],
        "business_share": actual["business_share"],
        "actual": actual["amount"],
    }


def standard_by_contract(row: StandardRow, amount: Amounts) -> dict:
    """Return a row of the standard rate; it names its vehicle where each has rows of its own."""
    values = row.by_contract() | {
        "from": row.begin.isoformat(),
        "to": row.end.isoformat(),
        "tier_from": plain(row.tier_from),
        "distance": plain(row.distance),
        "rate": plain(row.rate),
        "amount": amount(row.amount),
    }
    if row.vehicle is None:
        del values["vehicle"]
    return values


def actual_by_contract(actual: Actual, amount: Amounts) -> dict:
    return {
        "costs": amount(actual.costs),
        "business_share": f"{actual.business_share:.6f}",
        "amount": amount(actual.amount),
    }
