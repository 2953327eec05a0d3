"""Writing new and changed rows, in this order: people, visits, facts, invoices, credit notes, payments."""

from collections.abc import Callable

from billing.actions.settling import resettle_clients
from practice.lib.merges import Merge
from practice.lib.profile import Profile
from practice.models import Client, LifeEvent
from practice.project.book.checks.road import road_warnings
from practice.project.book.files_life import LIFE
from practice.project.book.files_merges import MERGES
from practice.project.book.lookup import Lookup, SortedRows
from practice.project.book.reader import Folder, Problem
from practice.project.book.writer import credits, days, mail, money, orders, people, stock
from practice.project.book.writer.common import Writer
from stock.actions.valuing import method_changes, value_items
from stock.models import Location, Movement


def write_new_rows(
    folder: Folder, lookup: Lookup, sorted_rows: dict[str, SortedRows], progress: Callable[[str], None]
) -> list[Problem]:
    """Write a folder that passed all checks, inside the caller's transaction; return warnings."""
    writer, costed_before = Writer(folder, lookup, sorted_rows), costed_by()
    progress("Writing people")
    closed_through = people.write_practice(writer)
    people.write_people(writer)
    progress("Writing visits")
    days.write_visits(writer)
    progress("Writing stock")
    orders.write_orders(writer)
    stock.write_facts(writer)
    progress("Writing invoices")
    money.write_invoices(writer)
    credits.write_credit_notes(writer)
    money.write_payments(writer)
    mail.write_mail(writer)
    writer.add(MERGES, Merge)
    writer.add(LIFE, LifeEvent)
    progress("Working out costs")
    new_legs = writer.new("legs.csv")
    writer.let_go("legs.csv", "settlements.csv", "stock_movements.csv")
    if costed_by() != costed_before:
        writer.touched_items |= set(Movement.objects.values_list("item", flat=True).distinct())
    warnings = [
        *road_warnings(new_legs, Profile.current()),
        *(Problem("items.csv", None, "", warning) for warning in value_items(writer.touched_items)),
    ]
    progress("Settling invoices")
    resettle_clients(Client.objects.filter(pk__in=writer.touched_clients).order_by("pk"))
    if closed_through is not False:
        Profile.objects.update(closed_through=closed_through)
    return warnings


def costed_by() -> tuple:
    """Return what changes the ledger of every item: the methods, and whether stock lies at several places."""
    return Profile.current().valuation, method_changes(), Location.objects.exists()
