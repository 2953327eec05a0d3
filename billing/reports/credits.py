"""Invoices with their credit notes, and the visits that credit notes freed; fetched for many at once."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from billing.models import CreditNote, CreditNoteLine, Invoice, InvoiceLine, Rebilling
from billing.rules.crediting import BilledPart, Credit, CreditableLine, CreditedInvoice, is_freed
from billing.rules.taxed import BilledTax, RateTax, plus
from billing.rules.totals import TaxRow, read_taxes
from practice.lib.profile import Profile

ZERO = Decimal(0)


@dataclass
class InvoiceCredits:
    """An invoice with what its credit notes took: `notes` in the order of issue, `standing` what they leave.

    `lines` are the keys of the invoice's lines in their order, so that line 1 is the first.
    """

    invoice: Invoice
    lines: list[int]
    standing: CreditedInvoice
    notes: list[tuple[CreditNote, Credit]] = field(default_factory=list)
    standings: list[BilledTax] = field(default_factory=list)

    @property
    def left_of_lines(self) -> dict[int, Decimal]:
        """What is left of each line by its key."""
        return dict(zip(self.lines, self.standing.left.values(), strict=False))

    def credit_of(self, note: CreditNote) -> Credit:
        """Return what one of its credit notes took, with its tax rows."""
        return next(credit for row, credit in self.notes if row.pk == note.pk)

    def rates_of(self, rows: Iterable[TaxRow], net: Decimal, tax: Decimal) -> tuple[RateTax, ...]:
        """Return tax rows added up by area, name and rate; an exempt client's nets as such."""
        if self.standing.is_without_rates:
            return (RateTax("", "", None, net, ZERO, tax),)
        found: dict[tuple, RateTax] = {}
        for row in rows:
            key = row.area, row.name, row.rate
            nets = (ZERO, row.base) if self.standing.is_exempt else (row.base, ZERO)
            found[key] = plus(found.get(key) or RateTax(*key), RateTax(*key, *nets, row.tax))
        return tuple(found.values())

    def rates_of_note(self, note: CreditNote) -> tuple[RateTax, ...]:
        """Return what a credit note took of each area, name and rate."""
        return self.rates_of(self.credit_of(note).taxes, note.net, note.tax)

    def _stand(self, since: date) -> None:
        """Remember the invoice as it stands from a day on."""
        left = self.standing
        rates = self.rates_of(left.rates_left, left.net_left, left.tax_left)
        self.standings.append(BilledTax(since, left.tax_left, left.net_left + left.tax_left, rates))

    def replay(self, notes: Iterable[CreditNote], lines: dict[int, list[tuple[int | None, Decimal]]]) -> None:
        """Take its credit notes off, in order; `lines` of each: the key of the line, and what was taken."""
        numbers = {key: number for number, key in enumerate(self.lines, start=1)} | {None: 1}
        self._stand(self.invoice.issued)
        for note in notes:
            taken = {numbers[line]: net for line, net in lines[note.pk]}
            self.notes.append((note, self.standing.credit(taken, note.tax)))
            self._stand(note.issued)


def credits_of(invoices: Iterable[Invoice]) -> dict[int, InvoiceCredits]:
    """Return these invoices with their credit notes, by key."""
    invoices, currency = list(invoices), Profile.current().currency
    keys = [invoice.pk for invoice in invoices]
    lines, notes, taken = (defaultdict(list) for _ in range(3))
    written = InvoiceLine.objects.filter(invoice__in=keys).order_by("pk")
    for invoice, key, kind, net, *taxes in written.values_list(
        "invoice", "pk", "kind", "net", "tax_names", "tax_rates", "tax_areas"
    ):
        lines[invoice].append((key, CreditableLine(kind, net, read_taxes(*taxes))))
    for note in CreditNote.objects.filter(invoice__in=keys).order_by("pk"):
        notes[note.invoice_id].append(note)
    credited = CreditNoteLine.objects.filter(credit_note__invoice__in=keys) if notes else ()
    for row in credited:
        taken[row.credit_note_id].append((row.line_id, row.net))
    found = {}
    for invoice in invoices:
        own = [line for _, line in lines[invoice.pk]]
        left = CreditedInvoice(own, invoice.net, invoice.tax, currency)
        found[invoice.pk] = InvoiceCredits(invoice, [key for key, _ in lines[invoice.pk]], left)
        found[invoice.pk].replay(notes[invoice.pk], taken)
    return found


def credits_of_invoice(invoice: Invoice) -> InvoiceCredits:
    """Return one invoice with its credit notes."""
    return credits_of([invoice])[invoice.pk]


# Visits


@dataclass(frozen=True)
class FreedVisit:
    """The credit note that freed a visit, and whether it was said that the visit is to be billed again."""

    credit_note: CreditNote
    again: bool


def freed_visits(visits: Iterable[int]) -> dict[int, FreedVisit]:
    """Return, of visits that are not locked, those that a credit note freed, by key."""
    lines = InvoiceLine.objects.of_visits().filter(visit__in=list(visits), invoice__isnull=False)
    invoices = defaultdict(set)
    for visit, invoice in lines.values_list("visit", "invoice"):
        invoices[visit].add(invoice)
    if not invoices:
        return {}
    last: dict[int, CreditNote] = {}
    touched = CreditNoteLine.objects.filter(line__visit__in=list(invoices), line__horse__isnull=False)
    touched = touched.select_related("credit_note", "line")
    for row in touched.order_by("credit_note__issued", "credit_note"):
        last[row.line.visit_id] = row.credit_note
    for visit in set(invoices) - set(last):  # nothing but lines of 0: credited with their invoice
        notes = CreditNote.objects.filter(invoice__in=invoices[visit]).order_by("issued", "pk")
        if (note := notes.last()) is not None:
            last[visit] = note
    rows = Rebilling.objects.filter(visit__in=list(last)).values_list("visit", "credit_note", "again")
    said = {(visit, note): again for visit, note, again in rows}
    return {visit: FreedVisit(note, said.get((visit, note.pk), note.again)) for visit, note in last.items()}


def credited_in_full(visits: Iterable[int]) -> set[int]:
    """Return the keys of those visits of which every part that was invoiced last is credited in full.

    By corrections alone; whether the visits are locked is not looked at.
    """
    keys = list(visits)
    taken, kept = defaultdict(Decimal), set()
    for line, net, reason in CreditNoteLine.objects.filter(line__visit__in=keys).values_list(
        "line", "net", "credit_note__reason"
    ):
        taken[line] += net
        if reason != CreditNote.Why.CORRECTION:
            kept.add(line)
    of_visits = InvoiceLine.objects.of_visits().filter(visit__in=keys)
    rows = list(of_visits.values_list("pk", "visit", "invoice", "net", "rebilled"))
    gone, not_corrected = _credited_invoices({invoice for _, _, invoice, _, _ in rows if invoice})
    newest: dict[int, int] = defaultdict(int)
    for _, visit, _, _, rebilled in rows:
        newest[visit] = max(newest[visit], rebilled)
    parts = defaultdict(list)
    for line, visit, invoice, net, rebilled in rows:
        if rebilled == newest[visit]:
            by_correction = invoice not in not_corrected if not net else line not in kept
            part = BilledPart(net, net - taken[line], by_correction, invoice in gone)
            parts[visit].append(part if invoice else BilledPart(None))
    return {visit for visit, its in parts.items() if is_freed(its)}


def _credited_invoices(keys: set[int]) -> tuple[set[int], set[int]]:
    """Return the invoices of which nothing is left, and those with a credit note that is no correction."""
    left, other = {}, set()
    for note in CreditNote.objects.filter(invoice__in=keys).select_related("invoice"):
        left[note.invoice_id] = left.get(note.invoice_id, note.invoice.total) - note.total
        if note.reason != CreditNote.Why.CORRECTION:
            other.add(note.invoice_id)
    return {key for key, amount in left.items() if not amount}, other
