"""How one stop is billed: the invoices that hold it, their credit notes, and whether it is free again."""

from dataclasses import dataclass
from datetime import date

from billing.models import CreditNote, Invoice
from billing.reports.charges import charge_rows, link_to_add
from billing.reports.credit_page import FreedStop, freed_stops
from billing.reports.spot import spot_billing
from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import Visit


@dataclass(frozen=True)
class VisitBilling:
    """A stop with the invoices and credit notes that bill it, its charges, and what is to pay now.

    `freed` where all of it was credited.
    """

    visit: Visit
    rows: list[ListRow]
    spot: list[ListRow]
    held: str
    charges: list[ListRow]
    charge_url: str
    charge_label: str
    freed: FreedStop | None

    @property
    def heading(self) -> str:
        if not self.rows:
            return f"{self.visit.place} is not billed yet."
        return f"How {self.visit.place} is billed"


def visit_billing(visit: Visit, profile: Profile, today: date) -> VisitBilling:
    """Return how a stop is billed, in the order of issue."""
    style = profile.currency, profile.locale
    invoices = Invoice.objects.with_settled().filter(pk__in=visit.lines.values("invoice"))
    rows = []
    for invoice in invoices.select_related("client").order_by("pk"):
        is_open = invoice.open > 0
        state = f"{formats.money(invoice.open, *style)} open" if is_open else invoice.settled_word
        rows.append(ListRow(invoice.get_absolute_url(), f"Invoice {invoice}", f"{invoice.client}", state))
    for note in CreditNote.objects.for_list().filter(lines__line__visit=visit).distinct().order_by("pk"):
        credited = f"−{formats.amount(note.total, *style)}"
        rows.append(ListRow(note.get_absolute_url(), f"Credit note {note}", f"for {note.invoice}", credited))
    spot = spot_billing(visit, profile, today)
    charges = list(visit.charges.for_list())
    return VisitBilling(
        visit,
        rows,
        [row.row(visit, profile) for row in spot.payments],
        spot.held,
        charge_rows(charges, profile, names_client=True),
        *link_to_add(visit, charges),
        next(iter(freed_stops([visit], profile)), None),
    )
