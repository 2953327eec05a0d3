"""Rules of the days: what is closed for good, and visits."""

from practice.project.book.checks.common import Checks

# Files whose rows are dated, and the column that says when; those of a visit by the visit's day.
DATED = {
    "owners.csv": "from",
    "prices.csv": "from",
    "tax_rates.csv": "from",
    "visits.csv": "date",
    "readings.csv": "date",
    "legs.csv": "date",
    "leg_changes.csv": "date",
    "odometers.csv": "date",
    "orders.csv": "date",
    "valuations.csv": "from",
    "purchases.csv": "date",
    "counts.csv": "date",
    "stock_facts.csv": "date",
    "invoices.csv": "issued",
    "charges.csv": "date",
    "life_events.csv": "date",
    "credit_notes.csv": "issued",
    "bank_deposits.csv": "date",
    "payments.csv": "date",
    "payment_changes.csv": "date",
    "expenses.csv": "date",
    "estimated_payments.csv": "date",
    "checked_warnings.csv": "date",
    "mileage_rates.csv": "from",
}
OF_A_VISIT = ("work.csv", "materials.csv", "findings.csv", "foot_records.csv", "horse_times.csv")


def check_closed_days(checks: Checks) -> None:
    for name, column in DATED.items():
        for row in checks.new(name):
            checks.must_be_open(row, column, row[column])
    for name in OF_A_VISIT:
        for row in checks.new(name):
            checks.must_be_open(row, "visit", checks.day_of(row["visit"]))


def check_visits(checks: Checks) -> None:
    for row in checks.new("visits.csv"):
        if row["billed"] and row["status"] == "planned":
            checks.complain(row, "billed", "a planned visit cannot be billed yet")
        came = row["arrived"] or row["arrive"]
        if came and row["leave"] and row["leave"] < came:
            checks.complain(row, "leave", f"{row['leave']:%H:%M} is before {came:%H:%M}")


def check_horse_times(checks: Checks) -> None:
    for row in checks.new("horse_times.csv"):
        if row["finished"] <= row["began"]:
            began = f"{row['began']:%H:%M}"
            checks.complain(row, "finished", f"{row['finished']:%H:%M} is not after {began}")


def check_fixed_visits(checks: Checks) -> None:
    """What is billed of a visit that is locked, or was billed before, does not change."""
    for name in ("work.csv", "materials.csv"):
        for row in checks.new(name):
            visit = checks.lookup.in_book("visits.csv", row["visit"])
            if visit is None or not visit.is_fixed:
                continue
            item = checks.lookup.in_book("items.csv", row["item"]) if name == "materials.csv" else None
            covered = item is not None and row["price"] is None and item.sale_price is None
            if not covered:
                checks.complain(row, "visit", f'"{row["visit"]}" is invoiced; nothing billable can be added')
