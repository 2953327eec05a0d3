"""Issuing invoices: numbered, locked and settled in one transaction per date, each exactly once."""

from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import Max

from billing.actions.accounts import add_to_quiet_accounts, quiet_accounts
from billing.actions.settling import account_of, resettle_clients
from billing.models import Invoice, InvoiceLine
from billing.models.numbering import Numbers
from billing.reports.billable import HeldVisit
from billing.reports.drafts import InvoiceDraft, Unissued, due_drafts, held_visits, unissued_due
from billing.rules.account_rows import Bill
from practice.actions.visits import lock_visits
from practice.lib.errors import RuleBroken
from practice.lib.millionths import LARGEST
from practice.lib.profile import Profile
from practice.models import Visit


@dataclass
class Closing:
    """What came of closing some days: the invoices issued, in order, and the visits held back."""

    invoices: list[Invoice] = field(default_factory=list)
    held: list[HeldVisit] = field(default_factory=list)


def close_days(
    begin: date, end: date, today: date, progress: Callable[[date], None] = lambda day: None
) -> Closing:
    """Issue what is due for the days asked, in date order, each invoice date its own transaction.

    Running it again, or from many processes at once, issues nothing more. `progress` is called with each
    invoice date. Raises RuleBroken("days_reversed") where `end` is before `begin`, and
    RuleBroken "practice_without_name" and "invoice_too_large" as `issue_date` does.
    """
    if end < begin:
        raise RuleBroken("days_reversed", "The last day is before the first. Give the earlier day first.")
    closing = Closing()
    profile = Profile.current()
    for on in sorted({draft.date for draft in due_drafts(begin, end, profile, today)}):
        progress(on)
        closing.invoices += issue_date(on, begin, end, today)
    closing.held = held_visits(begin, end, profile, today)
    return closing


@transaction.atomic
def issue_date(on: date, begin: date, end: date, today: date) -> list[Invoice]:
    """Issue the invoices of one date that closing `begin` to `end` asks for; return them in order.

    The lock on the practice's row makes others wait, and they find nothing left. Raises
    RuleBroken("practice_without_name"), and as `invoice_of`.
    """
    profile = Profile.locked()
    if not profile.name:
        raise RuleBroken(
            "practice_without_name", "Enter your practice's name in Settings first: it goes on every invoice."
        )
    unissued = unissued_due(begin, end, profile, today, only=on)
    drafts = [draft for draft in unissued.drafts(begin, end) if draft.date == on]
    visits = {line.visit.pk for draft in drafts for line in draft.lines if line.visit}
    quiet = quiet_accounts((draft.client.pk for draft in drafts), on, visits)
    numbers = Numbers(profile.invoice_prefix)
    rows = [invoice_of(draft, numbers.draw(on.year), profile, quiet) for draft in drafts]
    issued = {row.client_id: row for row in Invoice.objects.bulk_create(rows)}
    record_lines(drafts, issued, unissued)
    add_to_quiet_accounts((row for row in rows if row.client_id in quiet), quiet)
    resettle_clients(draft.client for draft in drafts if draft.client.pk not in quiet)
    return rows


def invoice_of(draft: InvoiceDraft, number: str, profile: Profile, quiet: Collection[int] = ()) -> Invoice:
    """Return the invoice of a draft, not saved, with names, addresses and the credit applied as they are now.

    `quiet`: clients who have no credit to apply. Raises RuleBroken("invoice_too_large") for one that comes
    to more than the book keeps.
    """
    client, sums = draft.client, draft.totals(profile.currency)
    if abs(sums.total) >= LARGEST:
        raise RuleBroken(
            "invoice_too_large",
            f"The invoice of {client} for {draft.date.isoformat()} is too large to save."
            " Check the quantities and the prices of its stops.",
        )
    terms = profile.payment_terms_days if client.payment_terms_days is None else client.payment_terms_days
    bill = Bill("new", number, draft.date, sums.total)
    return Invoice(
        number=number,
        client=client,
        issued=draft.date,
        due=draft.date + timedelta(days=terms),
        net=sums.net,
        tax=sums.tax,
        total=sums.total,
        credit_applied=Decimal(0) if client.pk in quiet else credit_applied(draft, bill),
        client_name=client.name,
        client_address=client.address,
        practice_name=profile.name,
        practice_address=profile.address,
    )


def credit_applied(draft: InvoiceDraft, bill: Bill) -> Decimal:
    """Return how much of the client's credit a draft uses when it is issued."""
    outcome = account_of(draft.client, [bill], {line.visit.pk for line in draft.lines if line.visit})
    used = [row.amount for row in outcome.rows if row.invoice == bill.key and row.date <= draft.date]
    return sum(used, Decimal(0))


def record_lines(drafts: list[InvoiceDraft], issued: dict[int, Invoice], unissued: Unissued) -> None:
    """Lock the visits of drafts and record every client's part; those of other clients wait.

    Charges and discounts of their own come after all lines of visits.
    """
    of_visits = [line for draft in drafts for line in draft.lines if line.is_of_visit]
    included = {(line.visit.pk, line.part.client) for line in of_visits}
    for draft in drafts:
        waiting = [line.written.pk for line in draft.lines if line.written]
        InvoiceLine.objects.filter(pk__in=waiting).update(invoice=issued[draft.client.pk])
    billed = {line.visit.pk for line in of_visits}
    fresh = [row for row in unissued.billables if row.visit.pk in billed]
    fresh.sort(key=lambda row: (row.visit.date, row.visit.pk))
    before = times_billed([row.visit for row in fresh])
    rows = []
    for billable in fresh:
        for part in billable.parts:
            key = (billable.visit.pk, part.client)
            invoice = issued[part.client] if key in included else None
            rows.append(InvoiceLine.of_part(billable.visit, part, invoice, before.get(key[0], 0)))
    lock_visits([row.visit for row in fresh])
    for draft in drafts:
        own = [line for line in draft.lines if not line.is_of_visit]
        rows += [InvoiceLine.of_part(line.visit, line.part, issued[draft.client.pk]) for line in own]
    InvoiceLine.objects.bulk_create(rows, batch_size=200)


def times_billed(visits: list[Visit]) -> dict[int, int]:
    """Return how often visits were billed before and credited in full, by key; none that were not."""
    lines = InvoiceLine.objects.of_visits().filter(visit__in=visits).order_by().values_list("visit")
    return {visit: last + 1 for visit, last in lines.annotate(last=Max("rebilled"))}
