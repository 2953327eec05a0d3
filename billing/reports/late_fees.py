"""Late fees and interest that the practice's rule allows today, each with the words of its line."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from billing.models import Charge, CreditNote, Dispute, Invoice, InvoiceLine, Settlement
from billing.rules.late_fees import FEE, LateCharge, LateInvoice, LateRule, late_charges
from practice.lib.formats import days_over, medium_date, money, percent
from practice.lib.list_rows import ListRow
from practice.lib.money import round_money
from practice.lib.profile import Profile


@dataclass(frozen=True)
class ProposedLateFee:
    """A line for a client: its invoice, the charge, its amount in the practice's currency, and its name."""

    invoice: Invoice
    charge: LateCharge
    amount: Decimal
    name: str

    def row(self, on: date, profile: Profile) -> ListRow:
        """Return it as a row: whose, the rule, how much, and how late the invoice is."""
        return ListRow(
            self.invoice.get_absolute_url(),
            str(self.invoice.client),
            more=self.name,
            fact=money(self.amount, profile.currency, profile.locale),
            note=days_over((on - self.invoice.due).days),
        )


def late_rule(profile: Profile) -> LateRule:
    """Return what the practice set; off where it set nothing."""
    return LateRule(profile.late_fee, profile.late_interest_percent, profile.late_fee_after_days)


def proposed_late_fees(on: date, profile: Profile) -> list[ProposedLateFee]:
    """Return what may be charged for paying late on a day, the longest overdue first; nothing if disputed."""
    rule = late_rule(profile)
    if not rule.is_on:
        return []
    disputed = Dispute.objects.open().values("invoice")
    overdue = Invoice.objects.outstanding().filter(due__lt=on).exclude(pk__in=disputed)
    overdue = list(overdue.select_related("client").order_by("due", "pk"))
    charged = Charge.objects.filter(kind=Charge.Kind.LATE_FEE).exclude(ref="")
    refs = list(charged.values_list("ref", flat=True)) if overdue else []
    found = []
    for invoice, late in zip(overdue, late_invoices(overdue), strict=True):
        for charge in late_charges(late, rule, refs, on):
            value = round_money(charge.amount, profile.currency)
            if value > 0:
                found.append(ProposedLateFee(invoice, charge, value, name_of(invoice, charge, rule, profile)))
    return found


def late_invoices(invoices: list[Invoice]) -> list[LateInvoice]:
    """Return invoices without the late fees that stand on them, with what took them off, by day."""
    keys = [invoice.pk for invoice in invoices]
    fees, taken = defaultdict(Decimal), defaultdict(list)
    lines = InvoiceLine.objects.filter(invoice__in=keys, charge__kind=Charge.Kind.LATE_FEE)
    for key, net in lines.values_list("invoice", "net"):
        fees[key] += net
    settled = Settlement.objects.filter(invoice__in=keys).values_list("invoice", "date", "amount")
    notes = CreditNote.objects.filter(invoice__in=keys).values_list("invoice", "issued", "total")
    for key, *part in [*settled, *notes]:
        taken[key].append(tuple(part))
    return [
        LateInvoice(row.number, row.due, row.total - fees[row.pk], tuple(sorted(taken[row.pk])))
        for row in invoices
    ]


def name_of(invoice: Invoice, charge: LateCharge, rule: LateRule, profile: Profile) -> str:
    """Return the words of a line, with its rule, as the client reads them."""
    locale = invoice.client.language or profile.locale
    if charge.kind == FEE:
        return f"Late fee, invoice {invoice.number}, due {medium_date(invoice.due, locale)}"
    begin, end = medium_date(charge.begin, locale), medium_date(charge.end, locale)
    rate = percent(rule.percent, locale)
    return f"Interest, invoice {invoice.number}, {begin} to {end}, {rate} a year on what was open each day"
