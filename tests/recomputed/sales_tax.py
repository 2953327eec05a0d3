"""Sales tax by area, name and rate, worked out a second time from a book's CSV files alone.

Whole minor units and fractions, nothing of the program: a second reading of the rules. It knows books
in which every invoice has its lines.
"""

from collections import defaultdict
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path

from tests.recomputed.invoices import half_away, in_cents, rows_of, shared_out, written

# area, name, rate -> [taxable, exempt, tax], in cents
Sums = dict[tuple[str, str, str], list[int]]


def sums() -> Sums:
    return defaultdict(lambda: [0, 0, 0])


def of_amounts(amounts: list[tuple[tuple[str, str, str], int]], exempt: bool) -> Sums:
    """Return what is taxed of (rates, net) by area, name and rate; each set of rates rounded once."""
    bases, found = defaultdict(int), sums()
    for rates, net in amounts:
        bases[rates] += net
    for (names, rates, areas), base in bases.items():
        if not names:
            continue
        rated = list(zip(areas.split(";"), names.split(";"), rates.split(";"), strict=True))
        weights = [Fraction(rate) for *_, rate in rated]
        whole = half_away(base * sum(weights) / 100)
        sign = -1 if whole < 0 else 1
        for key, part in zip(rated, shared_out(abs(whole), weights), strict=True):
            found[key] = [a + b for a, b in zip(found[key], [base, 0, sign * part], strict=True)]
    return {key: [0, base, 0] if exempt else [base, 0, tax] for key, (base, _, tax) in found.items()}


def add(to: Sums, more: Sums, sign: int = 1) -> None:
    for key, row in more.items():
        to[key] = [a + sign * b for a, b in zip(to[key], row, strict=True)]


class Taxed:
    """The invoices of a book: what is taxed on each, less what is credited by a day."""

    def __init__(self, folder: Path):
        self.lines, self.taken, self.notes, self.settled = (defaultdict(list) for _ in range(4))
        self.untaxed = {row["ref"] for row in rows_of(folder, "clients.csv") if row["tax_exempt"] == "yes"}
        self.invoice = {row["number"]: row for row in rows_of(folder, "invoices.csv")}
        for row in rows_of(folder, "invoice_lines.csv"):
            rates = row["tax_names"], row["tax_rates"], row["tax_areas"]
            self.lines[row["invoice"]].append((rates, in_cents(row["net"])))
        for row in rows_of(folder, "credit_note_lines.csv"):
            self.taken[row["credit_note"]].append((int(row["line"]), in_cents(row["net"])))
        for row in rows_of(folder, "credit_notes.csv"):
            self.notes[row["invoice"]].append(row)
        for row in rows_of(folder, "settlements.csv"):
            self.settled[row["invoice"]].append(row)

    def exempt(self, number: str) -> bool:
        return self.invoice[number]["client"] in self.untaxed

    def billed(self, number: str) -> Sums:
        return of_amounts(self.lines[number], self.exempt(number))

    def credited(self, number: str, last: str) -> Sums:
        taken = [
            (self.lines[number][line - 1][0], net)
            for note in self.notes[number]
            if note["issued"] <= last
            for line, net in self.taken[note["number"]]
        ]
        return of_amounts(taken, self.exempt(number))

    def received(self, number: str, last: str) -> Sums:
        """Return the part of an invoice's tax that is settled by the end of a day."""
        left = sums()
        add(left, self.billed(number))
        add(left, self.credited(number, last), -1)
        total = in_cents(self.invoice[number]["total"])
        total -= sum(in_cents(row["total"]) for row in self.notes[number] if row["issued"] <= last)
        part = sum(in_cents(row["amount"]) for row in self.settled[number] if row["date"] <= last)
        if not total:
            return {}
        share = Fraction(part, total)
        weights = [Fraction(tax) for *_, tax in left.values()]
        whole = half_away(sum(weights) * share)
        taxes = shared_out(whole, weights) if any(weights) else [0] * len(weights)
        return {
            key: [half_away(taxable * share), half_away(exempt * share), own]
            for (key, (taxable, exempt, _)), own in zip(left.items(), taxes, strict=True)
        }


def expected_sales_tax(folder: Path, begin: str, end: str) -> list[tuple]:
    """Return (area, name, rate, invoiced, received); each of the two: (taxable, exempt, tax) as written."""
    book, invoiced, received = Taxed(folder), sums(), sums()
    before = (date.fromisoformat(begin) - timedelta(1)).isoformat()
    for number, row in book.invoice.items():
        if begin <= row["issued"] <= end:
            add(invoiced, book.billed(number))
        add(invoiced, book.credited(number, end), -1)
        add(invoiced, book.credited(number, before))
        add(received, book.received(number, end))
        add(received, book.received(number, before), -1)
    return [
        (*key, tuple(map(written, invoiced[key])), tuple(map(written, received[key])))
        for key in sorted({*invoiced, *received})
        if any(invoiced[key]) or any(received[key])
    ]
