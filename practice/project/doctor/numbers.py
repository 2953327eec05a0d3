"""Numbers of invoices and credit notes: without gaps where they were drawn here."""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator

from billing.models import CreditNote, Invoice
from practice.project.doctor.faults import RESTORE, NamedFault, some_of

# As the program draws them: PREFIX-YYYY-NNNN, or without a prefix YYYY-NNNN.
NUMBER = re.compile(r"((?:.*-)?[0-9]{4}-)([0-9]{4,})")


def look_at_numbers() -> Iterator[NamedFault]:
    """Find numbers that are missing before one that was drawn here."""
    for model, thing in ((Invoice, "invoice"), (CreditNote, "credit note")):
        drawn = model.objects.filter(lines__isnull=False).distinct().values_list("number", flat=True)
        missing = missing_numbers(model.objects.values_list("number", flat=True), set(drawn))
        if missing:
            yield NamedFault(
                "numbers_missing",
                f"There is no {thing} with the numbers {some_of(missing)}, though a later one was issued.",
                f"An issued {thing} cannot be deleted here, so somebody did it in the database. {RESTORE}",
            )


def missing_numbers(numbers: Iterable[str], drawn: set[str]) -> list[str]:
    """Return the numbers that have to stand before those drawn here, and do not.

    A number is drawn as one more than the highest of its form, imported ones too. Those from before the book
    was kept here may have gaps among themselves.
    """
    known: dict[str, dict[int, str]] = defaultdict(dict)
    for number in numbers:
        if found := NUMBER.fullmatch(number):
            known[found[1]][int(found[2])] = number
    missing = []
    for stem, own in sorted(known.items()):
        for place in sorted(own):
            before = place - 1
            if own[place] in drawn and before > 0 and before not in own:
                missing.append(f"{stem}{before:04d}")
    return missing
