"""How the demo practice's clients pay, and what it spends."""

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal

from factory.random import randgen

from practice.project.demo.factories import ExpenseRow, PaymentRow

MONTHLY_EXPENSES = [
    ("insurance", "118.00", "Tarn Mutual"),
    ("utilities", "46.50", "Ember Telephone"),
    ("office", "12.00", ""),
]


def expenses(begin: date, today: date) -> list[dict]:
    """Return expense rows: insurance and telephone each month, fuel each week, now and then a tool."""
    rows, day = [], begin
    while day <= today:
        if day.day == 3:
            rows += [
                ExpenseRow(date=day.isoformat(), category=category, amount=amount, vendor=vendor)
                for category, amount, vendor in MONTHLY_EXPENSES
            ]
        if day.weekday() == 0:
            amount = Decimal(randgen.randrange(3800, 8200)) / 100
            rows.append(
                ExpenseRow(
                    date=day.isoformat(),
                    category="vehicle fuel",
                    amount=str(amount),
                    vendor="Crossroads Fuel",
                    vehicle="truck",
                )
            )
        if day.day == 17 and day.month % 4 == 1:
            rows.append(
                ExpenseRow(
                    date=day.isoformat(), category="tools and equipment", amount="139.00", note="rasps"
                )
            )
        day += timedelta(1)
    return rows


def deposits(clients: list[dict], begin: date, today: date) -> list[dict]:
    """Return payments made ahead by a few clients: credit that their next invoices use."""
    whole = (today - begin).days
    return [
        PaymentRow(
            date=(begin + timedelta(whole * tenths // 10)).isoformat(),
            client=clients[who]["ref"],
            amount=amount,
            note="deposit",
        )
        for who, tenths, amount in ((4, 1, "100.00"), (13, 5, "250.00"), (7, 9, "60.00"))
    ]


def payments(invoices: Iterable, today: date) -> list[dict]:
    """Return payment rows for issued invoices (`number`, `client`, `issued`, `due`, `total`).

    Most pay in time, some late, some in part; one overpays, one leaves a tip, one check bounces.
    """
    rows = []
    for order, invoice in enumerate(invoices, start=1):
        days = randgen.choice([0, 0, 3, 7, 9, 12, 14, 14, 20, 33, 47, 75])
        paid = invoice.issued + timedelta(days)
        if paid > today:
            continue
        amount, tip = invoice.total, Decimal(0)
        if order % 29 == 0:
            amount = (amount / 2).quantize(Decimal("0.01"))
        elif order % 31 == 0:
            amount += 25
        elif order % 37 == 0:
            tip = Decimal(10)
            amount += tip
        rows.append(row(invoice, paid, amount, tip))
        if order == 41 and paid + timedelta(6) <= today:
            rows.append(row(invoice, paid + timedelta(6), -amount, Decimal(0)) | {"note": "check came back"})
    return sorted(rows, key=lambda row: row["date"])


def row(invoice, on: date, amount: Decimal, tip: Decimal) -> dict:
    by_name = {"invoice": invoice.number} if randgen.randrange(3) == 0 else {}
    return PaymentRow(
        date=on.isoformat(), client=invoice.client.key, amount=str(amount), tip=str(tip), **by_name
    )
