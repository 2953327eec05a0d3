"""Every credit note of a book, worked out a second time from its CSV files alone.

Whole minor units and fractions, no decimals and nothing of the program: a second reading of the rules.
"""

from collections import defaultdict
from fractions import Fraction
from pathlib import Path

from tests.recomputed.invoices import CENT, half_away, rows_of


def in_cents(text: str) -> int:
    return int(Fraction(text) * CENT)


def written(cents: int) -> str:
    return f"{'-' if cents < 0 else ''}{abs(cents) // CENT}.{abs(cents) % CENT:02d}"


def expected_credits(folder: Path) -> list[tuple[str, str, str, str, str]]:
    """Return (number, invoice, net, tax, total) of each credit note, from the lines that it names."""
    lines, taken = defaultdict(list), defaultdict(list)
    for row in rows_of(folder, "invoice_lines.csv"):
        lines[row["invoice"]].append(row)
    for row in rows_of(folder, "credit_note_lines.csv"):
        taken[row["credit_note"]].append((int(row["line"]), in_cents(row["net"])))
    exempt = {row["number"] for row in rows_of(folder, "invoices.csv") if not Fraction(row["tax"])}
    so_far: dict[str, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    tax_taken, found = defaultdict(int), []
    for note in rows_of(folder, "credit_notes.csv"):
        invoice = note["invoice"]
        for number, cents in taken[note["number"]]:
            so_far[invoice][number] += cents
            assert 0 < so_far[invoice][number] <= in_cents(lines[invoice][number - 1]["net"])
        net = sum(cents for _, cents in taken[note["number"]])
        tax = 0 if invoice in exempt else tax_of(lines[invoice], so_far[invoice]) - tax_taken[invoice]
        tax_taken[invoice] += tax
        found.append((note["number"], invoice, *map(written, (net, tax, net + tax))))
    return found


def tax_of(lines: list[dict[str, str]], credited: dict[int, int]) -> int:
    """Return the tax of all that is credited, each set of the same names, rates and areas rounded once."""
    bases = defaultdict(int)
    for number, line in enumerate(lines, start=1):
        if line["tax_names"]:
            bases[line["tax_names"], line["tax_rates"], line["tax_areas"]] += credited.get(number, 0)
    return sum(
        half_away(base * sum(map(Fraction, rates.split(";"))) / 100) for (_, rates, _), base in bases.items()
    )
