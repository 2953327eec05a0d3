"""Amounts far above the usual: expenses, prices typed at a visit, and what a horse took."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from django.db.models import Sum

from billing.models import Charge, Expense, Price
from billing.rules.odd import MONTHS, times_usual_expense
from billing.rules.pricing import price_on
from practice.lib.periods import add_months
from practice.models import MaterialUse, Work
from practice.project.book.checks.common import Checks
from practice.project.book.odd_rows import far_above, warn
from practice.project.book.reader import FolderRow, Problem
from stock.rules.odd import times_usual, usual_of


def expenses(checks: Checks) -> Iterator[Problem]:
    """Yield the expenses far above the usual of their category in the year up to their day."""
    new = checks.new("expenses.csv")
    if not new:
        return
    spent: dict[str, list[tuple[date, Decimal]]] = defaultdict(list)
    for category, on, amount in Expense.objects.values_list("category", "date", "amount"):
        spent[category].append((on, amount))
    for row in new:
        spent[row["category"]].append((row["date"], row["amount"]))
    days = {}
    for category, rows in spent.items():
        rows.sort()
        days[category] = [on for on, _ in rows]
    for row in new:
        on, category = row["date"], row["category"]
        begin = bisect_right(days[category], add_months(on, -MONTHS))
        end = bisect_right(days[category], on)
        before = [amount for _, amount in spent[category][begin:end]]
        before.remove(row["amount"])
        if times := times_usual_expense(row["amount"], before):
            yield warn(row, "amount", f"{row['amount']:f} is {times} times the usual for {category}")


def charges(checks: Checks) -> Iterator[Problem]:
    """Yield the charges far above the usual of their kind; of a discount its size counts."""
    new = checks.new("charges.csv")
    if not new:
        return
    known = defaultdict(list)
    for kind, price in Charge.objects.values_list("kind", "unit_price"):
        known[kind].append(abs(price))
    for row in new:
        known[row["kind"]].append(abs(row["unit_price"]))
    for row in new:
        yield from far_above(row, "unit_price", abs(row["unit_price"]), known[row["kind"]])


def typed_prices(checks: Checks) -> Iterator[Problem]:
    """Yield the prices of work far above the list price of the day, or those typed where there is none."""
    new = [row for row in checks.new("work.csv") if row["price"] is not None]
    if not new:
        return
    listed, typed = defaultdict(list), defaultdict(list)
    for price in Price.objects.general().filter(item=None).select_related("service").order_by("pk"):
        listed[price.service.key].append((price.valid_from, price.price))
    for row in checks.new("prices.csv"):
        if not (row["horse"] or row["client"] or row["place"]):
            listed[row["service"]].append((row["from"], row["price"]))
    for work in Work.objects.filter(price__isnull=False).select_related("service"):
        typed[work.service.key].append(work.price)
    for row in new:
        typed[row["service"]].append(row["price"])
    usual = {service: usual_of(prices) for service, prices in typed.items()}
    for row in new:
        day = checks.day_of(row["visit"])
        price = price_on(listed[row["service"]], day) if day else None
        yield from far_above(row, "price", row["price"], [price or usual[row["service"]] or Decimal(0)])


def used_materials(checks: Checks) -> Iterator[Problem]:
    """Yield what one horse took far above the usual of the item, at the first of its rows."""
    taken: dict[tuple, list[FolderRow]] = defaultdict(list)
    for row in checks.new("materials.csv"):
        taken[row["item"], row["visit"], row["horse"]].append(row)
    amounts = {key: sum(row["quantity"] for row in rows) for key, rows in taken.items()}
    usual = _usual_quantities(checks, amounts)
    for (item, *_), rows in taken.items():
        amount = sum(row["quantity"] for row in rows)
        if usual[item] and (times := times_usual(amount, [usual[item]])):
            yield warn(rows[0], "quantity", f"{amount:f} on one horse is {times} times the usual")


def _usual_quantities(checks: Checks, amounts: dict[tuple, Decimal]) -> dict[str, Decimal | None]:
    """Return what one horse usually takes of an item, by the item's key: in the book and the folder."""
    by_item: dict[str, list[Decimal]] = defaultdict(list)
    for (item, *_), amount in amounts.items():
        by_item[item].append(amount)
    known = {row.pk: key for key in by_item if (row := checks.lookup.in_book("items.csv", key))}
    sums = MaterialUse.objects.filter(item__in=known).values("item", "visit", "horse")
    for row in sums.annotate(sum=Sum("quantity")):
        by_item[known[row["item"]]].append(row["sum"])
    return {item: usual_of(values) for item, values in by_item.items()}
