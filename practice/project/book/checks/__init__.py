"""The rules that rows of a folder have to keep, together with what the book holds already."""

from practice.project.book.checks import (
    charges,
    credits,
    days,
    horses,
    mail,
    money,
    orders,
    people,
    road,
    stock,
    sums,
)
from practice.project.book.checks.common import Checks


def check_new_rows(checks: Checks) -> None:
    """Complain about every new or changed row that breaks a rule."""
    people.check_practice(checks)
    days.check_closed_days(checks)
    people.check_owners(checks)
    people.check_prices_and_rates(checks)
    people.check_payers(checks)
    people.check_life_events(checks)
    people.check_items(checks)
    people.check_locations(checks)
    days.check_visits(checks)
    days.check_horse_times(checks)
    days.check_fixed_visits(checks)
    road.check_road(checks)
    orders.check_orders(checks)
    stock.check_stock_facts(checks)
    stock.check_returns(checks)
    money.check_invoices(checks)
    charges.check_own_lines(checks)
    credits.check_credit_notes(checks)
    money.check_payments(checks)
    money.check_payment_changes(checks)
    money.check_settlements(checks)
    money.check_possessions(checks)
    money.check_receipts(checks)
    horses.check_photos(checks)
    horses.check_feet(checks)
    horses.check_prescriptions(checks)
    mail.check_mail(checks)
    sums.check_sums(checks)
