"""Credit notes: numbered and settled in one transaction; what they credit in full can be corrected."""

import uuid as uuids
from datetime import date
from decimal import Decimal

from django.db import transaction

from billing.actions.settling import resettle_client
from billing.models import CreditNote, CreditNoteLine, Invoice, InvoiceLine, Rebilling
from billing.models.numbering import Numbers
from billing.reports.credits import InvoiceCredits, credited_in_full, credits_of_invoice, freed_visits
from billing.rules.crediting import Amounts
from practice.actions.visits import locked_visit, unlock_visit
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Visit


@transaction.atomic
def issue_credit_note(
    invoice: Invoice,
    on: date,
    amounts: Amounts | None = None,
    *,
    reason: str = CreditNote.Why.CORRECTION,
    again: bool = False,
    note: str = "",
    uuid: uuids.UUID | None = None,
) -> CreditNote:
    """Credit all that is left of an invoice, or `amounts` of its lines by their number, from 1.

    None as an amount: all that is left of that line. The client is settled anew, and visits that are
    credited in full by corrections are unlocked. With a `uuid` that is in the book already, that credit note
    is returned and nothing changes. Raises RuleBroken as `check_credit` and `CreditedInvoice.propose` do.
    """
    if uuid and (known := CreditNote.objects.filter(uuid=uuid).first()):
        return known
    profile = Profile.locked()
    credits = credits_of_invoice(invoice)
    check_credit(credits, on, reason, again, profile)
    credit = credits.standing.propose(amounts)
    issued = CreditNote.objects.create(
        uuid=uuid or uuids.uuid4(),
        number=Numbers.of_credit_notes(profile.invoice_prefix).draw(on.year),
        invoice=invoice,
        issued=on,
        net=credit.net,
        tax=credit.tax,
        total=credit.total,
        reason=reason,
        again=again,
        note=note,
    )
    CreditNoteLine.objects.bulk_create(
        CreditNoteLine(
            credit_note=issued, line_id=credits.lines[number - 1] if credits.lines else None, net=net
        )
        for number, net in credit.lines.items()
    )
    free_visits(invoice)
    resettle_client(invoice.client)
    return issued


def check_credit(credits: InvoiceCredits, on: date, reason: str, again: bool, profile: Profile) -> None:
    """Raise RuleBroken where no credit note can be issued on that day.

    Codes: `day_closed`, `credit_before_invoice`, `credit_before_last`, `credit_again_without_correction`.
    """
    profile.check_open(on)
    invoice = credits.invoice
    if on < invoice.issued:
        raise RuleBroken(
            "credit_before_invoice",
            f"Invoice {invoice.number} is dated {invoice.issued.isoformat()}."
            " Choose that day or a later one.",
        )
    if credits.notes and on < (last := credits.notes[-1][0]).issued:
        raise RuleBroken(
            "credit_before_last",
            f"Credit note {last.number} for this invoice is dated {last.issued.isoformat()}."
            " Choose that day or a later one.",
        )
    if again and reason != CreditNote.Why.CORRECTION:
        raise RuleBroken(
            "credit_again_without_correction",
            "Only a correction is billed again. Choose 'Correction' as the reason, or do not bill it again.",
        )


def first_day_to_credit(credits: InvoiceCredits, today: date, profile: Profile) -> date:
    """Return today, or the first later day on which the invoice can be credited."""
    days = [credits.invoice.issued, *(note.issued for note, _ in credits.notes)]
    return profile.open_day(max(today, *days))


def free_visits(invoice: Invoice) -> None:
    """Unlock the visits of an invoice that are credited in full; their parts that wait are dropped."""
    visits = Visit.objects.filter(locked=True, pk__in=invoice.lines.of_visits().values("visit"))
    for visit in Visit.objects.filter(pk__in=credited_in_full(visits.values_list("pk", flat=True))):
        InvoiceLine.objects.waiting().filter(visit=visit).delete()
        unlock_visit(visit)


@transaction.atomic
def bill_again(visit: Visit) -> None:
    """Say that a visit, which a credit note freed, is to be billed again; saying it twice changes nothing.

    Raises RuleBroken("visit_not_credited") for a visit that waits for no such word.
    """
    _say_again(visit, True)


@transaction.atomic
def bill_again_undone(visit: Visit) -> None:
    """Take back that a visit, which a credit note freed, is to be billed again, until that has happened.

    Raises RuleBroken as `bill_again` does: also where it was invoiced anew.
    """
    _say_again(visit, False)


def _say_again(visit: Visit, again: bool) -> None:
    visit = locked_visit(visit)
    freed = None if visit.locked else freed_visits([visit.pk]).get(visit.pk)
    if freed is None:
        raise RuleBroken(
            "visit_not_credited", "This stop is not credited in full, so it is not billed again."
        )
    if freed.again != again:
        Rebilling.objects.update_or_create(
            visit=visit, credit_note=freed.credit_note, defaults={"again": again}
        )


def left_of(invoice: Invoice) -> Decimal:
    """Return what credit notes leave of an invoice's total, in the practice's currency."""
    left = credits_of_invoice(invoice).left
    return left.net_left + left.tax_left
