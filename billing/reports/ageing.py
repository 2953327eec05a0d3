"""What is owed by days past due, in all and by client, and how long clients take to pay."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from billing.models import CreditNote, Invoice, Settlement
from billing.reports.receivable import ClientBalance
from billing.rules.ageing import SPANS, BilledAndSettled, DaysToPay, days_to_pay
from practice.lib.charts import Chart, columns
from practice.lib.figures import FigureRow, FigureTable, SumRow
from practice.lib.formats import about, amount, counted, money
from practice.lib.periods import add_months
from practice.lib.profile import Profile

# Days to pay are of the invoices of so many months: how a client pays now, not twenty years ago.
MONTHS = 24
UNDER_THE_COLUMNS = ("Not due", "1–30", "31–60", "61–90", "Over 90")


@dataclass(frozen=True)
class Ageing:
    """What is owed by days past due, in words. `sums` and `table` add up to all that is owed."""

    chart: Chart
    sums: list[SumRow]
    table: FigureTable
    months: int = MONTHS


def ageing_of(balances: Sequence[ClientBalance], on: date, profile: Profile) -> Ageing | None:
    """Return what clients owe by days past due, None where nobody owes anything."""
    if not balances:
        return None
    style = profile.currency, profile.locale
    rows = [balance.ages(on) for balance in balances]
    sums = [sum(each) for each in zip(*rows, strict=True)]
    total, late = sum(sums), sum(sums[1:])
    pace = pace_of([balance.client.pk for balance in balances], on)
    table = FigureTable(
        ("Client", *SPANS, "Owed", "Days to pay"),
        tuple(
            FigureRow(
                str(balance.client),
                (*(amount(each, *style) for each in (*ages, balance.open)), pace_in_words(balance, pace)),
            )
            for balance, ages in zip(balances, rows, strict=True)
        ),
        (FigureRow("Total", (*(amount(each, *style) for each in (*sums, total)), "")),),
    )
    chart = Chart(
        drawing=columns(sums, UNDER_THE_COLUMNS),
        title="Owed by days past due",
        description=f"{money(late, *style)} of {money(total, *style)} is overdue.",
    )
    named = [
        SumRow("+" if at else "", span, amount(each, *style))
        for at, (span, each) in enumerate(zip(SPANS, sums, strict=True))
    ]
    return Ageing(chart, [*named, SumRow("=", "Owed", amount(total, *style), total=True)], table)


def pace_in_words(balance: ClientBalance, pace: dict[int, DaysToPay]) -> str:
    """Return a client's days to pay with the number of invoices: `12 (8)`; a dash where nothing was paid."""
    found = pace.get(balance.client.pk)
    return f"{about(found.days)} ({found.invoices})" if found else "–"


def pace_in_a_sentence(pace: DaysToPay | None) -> str:
    """`Pays within 12 days, the median of 8 invoices.`; blank where nothing was paid in full."""
    if pace is None:
        return ""
    day = "day" if pace.days == 1 else "days"
    return f"Pays within {about(pace.days)} {day}, the median of {counted(pace.invoices, 'invoice')}."


def pace_of(clients: Iterable[int], on: date) -> dict[int, DaysToPay]:
    """Return the days to pay of these clients by key; those are left out who paid nothing in full."""
    since = add_months(on, -MONTHS)
    recent = Invoice.objects.filter(client__in=list(clients), issued__gte=since)
    facts = list(recent.values_list("pk", "client", "issued", "total"))
    keys = recent.values("pk")
    paid, credited = defaultdict(list), defaultdict(list)
    settled = Settlement.objects.filter(invoice__in=keys).values_list("invoice", "date", "amount")
    for invoice, *part in settled:
        paid[invoice].append(tuple(part))
    # A credit note is no older than its invoice. Those of other clients are few.
    notes = CreditNote.objects.filter(issued__gte=since).values_list("invoice", "issued", "total")
    for invoice, *part in notes:
        credited[invoice].append(tuple(part))
    of_client = defaultdict(list)
    for key, client, issued, total in facts:
        of_client[client].append(BilledAndSettled(issued, total, tuple(paid[key]), tuple(credited[key])))
    found = {client: days_to_pay(invoices) for client, invoices in of_client.items()}
    return {client: pace for client, pace in found.items() if pace}
