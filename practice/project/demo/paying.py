"""How the demo practice's clients pay, and what it spends."""

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal

from factory.random import randgen

from practice.project.demo import scenario
from practice.project.demo.days import is_holiday
from practice.project.demo.factories import ExpenseRow, PaymentRow

MONTHLY_EXPENSES = [
    ("insurance", "118.00", "Tarn Mutual"),
    ("utilities", "46.50", "Ember Telephone"),
    ("office", "12.00", ""),
]


def expenses(begin: date, today: date, helped: dict[date, int]) -> list[dict]:
    """Return expense rows: insurance and telephone each month, fuel each week, now and then a tool.

    `helped` are the days on which somebody helped, with the number of horses.
    """
    rows, day = [], begin
    while day <= today:
        if day.day == 3:
            rows += [
                ExpenseRow(date=day.isoformat(), category=category, amount=amount, vendor=vendor)
                for category, amount, vendor in MONTHLY_EXPENSES
            ]
        if day.weekday() == 0 and not is_holiday(day):
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
                    date=day.isoformat(),
                    category="tools and equipment",
                    amount="139.00",
                    vendor=scenario.SUPPLIER,
                    note="Rasps and a hoof knife",
                )
            )
        if day in helped:
            rows.append(
                ExpenseRow(
                    date=day.isoformat(),
                    category="contract labor",
                    amount=scenario.HELP_A_DAY,
                    vendor=scenario.HELPER,
                    note=f"Helped for the day, {helped[day]} horses",
                )
            )
        day += timedelta(1)
    return rows


def repeating(begin: date, today: date) -> list[dict]:
    """Return what repeats: insurance and telephone, booked so far, and a journal that is due again."""
    third = min(day for day in (begin + timedelta(n) for n in range(31)) if day.day == 3)
    booked = today.replace(day=3) if today.day >= 3 else (today.replace(day=1) - timedelta(1)).replace(day=3)
    rows = [
        {
            "ref": f"monthly-{category}",
            "category": category,
            "amount": amount,
            "every": "month",
            "from": third.isoformat(),
            "vendor": vendor,
            "answered_through": booked.isoformat(),
        }
        for category, amount, vendor in MONTHLY_EXPENSES
        if vendor
    ]
    journal = {"ref": "journal", "category": "education", "amount": "38.00", "every": "year"}
    return [*rows, journal | {"from": (today - timedelta(9)).isoformat(), "vendor": "Tarn Hoof Journal"}]


def equipment(begin: date) -> list[dict]:
    """Return tools: an anvil, a forge, and a grinder that was sold."""
    came = (begin - timedelta(400)).isoformat()
    return [
        {"ref": "anvil", "name": "Anvil, 110 lb", "placed_in_service": came, "cost": "640.00"},
        {"ref": "forge", "name": "Two-burner forge", "placed_in_service": came, "cost": "415.00"},
        {
            "ref": "grinder",
            "name": "Belt grinder",
            "placed_in_service": came,
            "cost": "290.00",
            "disposed_on": (begin + timedelta(200)).isoformat(),
            "disposed_for": "120.00",
        },
    ]


def estimated(begin: date, today: date) -> list[dict]:
    """Return tax paid in ahead, for each quarter; what is paid in January is for the year before."""
    days = (date(year, month, 15) for year in range(begin.year, today.year + 1) for month in (1, 4, 6, 9))
    return [
        {
            "ref": f"paid-in-{day:%Y-%m}",
            "date": day.isoformat(),
            "amount": "1200.00",
            "tax_year": str(day.year - (day.month == 1)),
        }
        for day in days
        if begin <= day <= today
    ]


def deposits(clients: list[dict], begin: date, today: date) -> list[dict]:
    """Return payments made ahead by a few clients: credit that their next invoices use."""
    whole = (today - begin).days
    return [
        PaymentRow(
            date=(begin + timedelta(whole * tenths // 10)).isoformat(),
            client=clients[who]["ref"],
            amount=amount,
            note="Deposit",
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
        paid += timedelta(is_holiday(paid))
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
            rows.append(
                row(invoice, paid + timedelta(6), -amount, Decimal(0))
                | {"note": "Check bounced", "bounced": "yes"}
            )
    return sorted(rows, key=lambda row: row["date"])


def row(invoice, on: date, amount: Decimal, tip: Decimal) -> dict:
    by_name = {"invoice": invoice.number} if randgen.randrange(3) == 0 else {}
    return PaymentRow(
        date=on.isoformat(), client=invoice.client.key, amount=str(amount), tip=str(tip), **by_name
    )
