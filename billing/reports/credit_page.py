"""A credit note before and after it is issued: what it takes, and what follows from it, in words."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.urls import reverse

from billing.actions.crediting import issue_credit_note
from billing.actions.settling import credit_left
from billing.models import CreditNote, Invoice, InvoiceLine
from billing.papers.credit_note import CreditNotePaper, credit_note_paper
from billing.reports.credits import credits_of_invoice, freed_visits
from billing.rules.crediting import Amounts
from practice.lib import formats
from practice.lib.profile import Profile
from practice.models import Visit

NO_DEDUCTION = "If you report income when it is paid, a write-off is not a deduction: ask your tax preparer."


@dataclass(frozen=True)
class CreditPreview:
    """A credit note that is not issued yet: what it shows, and what follows from it, a sentence each."""

    paper: CreditNotePaper
    consequences: list[str]

    @property
    def total(self) -> str:
        return self.paper.amount

    @property
    def as_text(self) -> str:
        """All amounts, for telling whether they are still the same."""
        paper = self.paper
        rows = [(row.name, row.detail, row.amount) for row in paper.lines]
        return repr((rows, paper.net, [row.amount for row in paper.taxes], paper.total))


def preview_credit(
    invoice: Invoice, amounts: Amounts | None, facts: Mapping[str, object], profile: Profile
) -> CreditPreview:
    """Return what a credit note would be: it is issued, looked at, and taken back. Raises as issuing does.

    `facts` hold its date, reason, note, and whether to bill again.
    """
    with transaction.atomic():
        owned = credit_left(invoice.client)
        locked = set(visits_of(invoice).filter(locked=True))
        note = issue_credit_note(
            invoice,
            facts["date"],
            amounts,
            reason=facts["reason"],
            again=facts["again"],
            note=facts["note"],
        )
        preview = CreditPreview(
            credit_note_paper(note, for_practice=True), list(_consequences(note, owned, locked, profile))
        )
        transaction.set_rollback(True)
    return preview


def visits_of(invoice: Invoice):
    """Return the visits that an invoice bills, in order."""
    return (
        Visit.objects.filter(pk__in=invoice.lines.of_visits().values("visit"))
        .select_related("place")
        .order_by("date", "pk")
    )


def _consequences(note: CreditNote, owned: Decimal, locked: set[Visit], profile: Profile):
    """Yield what follows from a credit note that was just issued."""
    style = profile.currency, profile.locale
    invoice = Invoice.objects.with_settled().get(pk=note.invoice_id)
    if invoice.open > 0:
        yield f"{formats.money(invoice.open, *style)} is still due on invoice {invoice}."
    else:
        yield f"Nothing is left to pay on invoice {invoice}."
    more = credit_left(invoice.client) - owned
    if more > 0:
        yield f"{formats.money(more, *style)} of what was paid becomes {invoice.client}'s credit."
    freed = [visit for visit in visits_of(invoice).filter(locked=False) if visit in locked]
    for visit in _still_billed(note):
        day = formats.day_and_month(visit.date, profile.locale)
        yield (
            f"The stop at {visit.place} on {day} was billed to others too. It can be corrected once their"
            " parts are credited in full."
        )
    for visit in freed:
        day = formats.day_and_month(visit.date, profile.locale)
        then = f"is billed again when you close {day}" if note.again else "waits until you bill it again"
        yield f"The stop at {visit.place} on {day} can be corrected, and {then}."
    if note.again and not freed:
        yield "This does not credit any stop in full, so nothing is billed again."
    yield from _charges_lost(note)
    if freed:
        yield "Materials used there stay used. If some came back, return them at the stop."
    yield from reason_in_words(note)


def _charges_lost(note: CreditNote) -> list[str]:
    """Return what a correction takes off charges of their own, in words: they are not billed again."""
    if note.reason != CreditNote.Why.CORRECTION:
        return []
    lines = note.lines.filter(line__charge__isnull=False, net__gt=0).select_related("line__charge")
    names = [row.line.charge.name for row in lines]
    return [f"Not billed again: {', '.join(names)}. If it is still due, add a new charge."] if names else []


def _still_billed(note: CreditNote) -> list[Visit]:
    """Return the stops of which a correction leaves nothing to this client, but something to others."""
    if note.reason != CreditNote.Why.CORRECTION:
        return []
    left = credits_of_invoice(note.invoice).left_of_lines
    lines = InvoiceLine.objects.standing().filter(visit__in=note.invoice.lines.of_visits().values("visit"))
    own = {visit for pk, visit in note.invoice.lines.of_visits().values_list("pk", "visit") if left[pk]}
    others = lines.exclude(client=note.invoice.client).values("visit")
    return [
        visit for visit in visits_of(note.invoice).filter(locked=True, pk__in=others) if visit.pk not in own
    ]


def reason_in_words(note: CreditNote) -> list[str]:
    """Return what the reason of a credit note means; nothing for a correction."""
    if note.reason == CreditNote.Why.CORRECTION:
        return []
    words = ["What it takes off is not billed again."]
    return [*words, NO_DEDUCTION] if note.reason == CreditNote.Why.BAD_DEBT else words


@dataclass(frozen=True)
class FreedStop:
    """A stop that a credit note freed: what is to come of it, in words.

    `asks`: that is still to be said; `can_take_back`: it was said that it is billed again.
    """

    visit: Visit
    words: str
    asks: bool
    can_take_back: bool = False

    @property
    def close_url(self) -> str:
        return reverse("billing:close-day", args=[self.visit.date.isoformat()])


def freed_stops(visits, profile: Profile) -> list[FreedStop]:
    """Return those of these visits that were credited in full and are not billed again yet."""
    visits = [visit for visit in visits if not visit.locked]
    freed = freed_visits([visit.pk for visit in visits])
    return [_freed_stop(visit, freed[visit.pk].again, profile) for visit in visits if visit.pk in freed]


def _freed_stop(visit: Visit, again: bool, profile: Profile) -> FreedStop:
    day = formats.day_and_month(visit.date, profile.locale)
    if visit.status != Visit.Status.DONE:
        return FreedStop(visit, f"It is {visit.get_status_display().lower()}, so nobody is billed.", False)
    if again:
        return FreedStop(visit, f"It will be billed again when you close {day}.", False, can_take_back=True)
    return FreedStop(visit, "The stop can be corrected. Nobody is billed for it until you say so.", True)


@dataclass(frozen=True)
class CreditNotePage:
    """A credit note with what it shows, and the stops that its invoice billed and that are free again."""

    note: CreditNote
    paper: CreditNotePaper
    stops: list[FreedStop]
    words: list[str]

    @property
    def heading(self) -> str:
        """`$53.50 credited to Ann.`"""
        return f"{self.paper.amount} credited to {self.paper.client_name}."


def credit_note_page(note: CreditNote, profile: Profile) -> CreditNotePage:
    """Return what a credit note's page shows."""
    stops = freed_stops(visits_of(note.invoice), profile)
    return CreditNotePage(note, credit_note_paper(note, for_practice=True), stops, reason_in_words(note))
