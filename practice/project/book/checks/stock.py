"""Rules of the facts of stock, and of what comes back from a visit."""

from collections import defaultdict
from decimal import Decimal

from practice.models import MaterialReturn, MaterialUse
from practice.project.book.checks.common import Checks
from practice.project.book.reader import FolderRow
from stock.models import MovementKind


def check_stock_facts(checks: Checks) -> None:
    for row in checks.new("stock_facts.csv"):
        kind = row["kind"]
        wanted = {
            "to_location": kind == MovementKind.TRANSFER,
            "visit": kind == MovementKind.VISIT_RETURN,
            "horse": kind == MovementKind.VISIT_RETURN,
            "reverses": kind == MovementKind.REVERSAL,
        }
        for column, needed in wanted.items():
            if needed and not row[column]:
                checks.complain(row, column, f'is required for the kind "{kind}"')
            elif not needed and row[column] and not (kind == MovementKind.REVERSAL and column != "reverses"):
                checks.complain(row, column, f'must be blank for the kind "{kind}"')
        if kind == MovementKind.TRANSFER and row["location"] and row["location"] == row["to_location"]:
            checks.complain(row, "to_location", "must differ from location")


def check_returns(checks: Checks) -> None:
    """No more comes back from a visit than was used there on days before."""
    rows = checks.new("stock_facts.csv")
    if not any(row["kind"] == MovementKind.VISIT_RETURN for row in rows):
        return
    used, back, standing = _used(checks), defaultdict(Decimal), defaultdict(list)
    for known in MaterialReturn.objects.filter(movement__reversal=None).select_related(
        "visit", "horse", "movement__item", "movement__location"
    ):
        fact = known.movement
        location = fact.location.key if fact.location else None
        job = (known.visit.key, known.horse.key, fact.item.key)
        standing[fact.date, fact.item.key, fact.quantity, location].append(job)
        back[job] += fact.quantity
    for row in rows:
        quantity = row["quantity"] or 0
        same = standing[row["date"], row["item"], quantity, row["location"]]
        if row["kind"] == MovementKind.VISIT_RETURN:
            job = (row["visit"], row["horse"], row["item"])
            same.append(job)
            back[job] += quantity
            _check_return(checks, row, back[job], used[job])
        elif row["reverses"] == MovementKind.VISIT_RETURN and same:
            back[same.pop(0)] -= quantity


def _used(checks: Checks) -> dict[tuple, Decimal]:
    """Return what done visits used, by visit, horse and item."""
    used = defaultdict(Decimal)
    for use in MaterialUse.objects.filter(movement__isnull=False).select_related("visit", "horse", "item"):
        used[use.visit.key, use.horse.key, use.item.key] += use.quantity
    for use in checks.new("materials.csv"):
        if checks.status_of(use["visit"]) == "done":
            used[use["visit"], use["horse"], use["item"]] += use["quantity"] or 0
    return used


def _check_return(checks: Checks, row: FolderRow, back: Decimal, used: Decimal) -> None:
    if back > used:
        message = f"{back:f} returned in all, but only {used:f} used at this visit"
        checks.complain(row, "quantity", message)
    day = checks.day_of(row["visit"])
    if day and row["date"] and row["date"] <= day:
        checks.complain(row, "date", f"a return must be dated after its use on {day.isoformat()}")
