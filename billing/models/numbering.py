"""Numbers of invoices and credit notes, each year from 0001 without gaps, drawn while issuing."""

import re

from django.db.models import Model

from billing.models.credit_note import CreditNote
from billing.models.invoice import Invoice


class Numbers:
    """Draws numbers within one transaction, whose caller holds the lock on the practice's row.

    `PREFIX-YYYY-NNNN`; `kind` stands before the year: `PREFIX-CN-YYYY-NNNN`.
    """

    def __init__(self, prefix: str, model: type[Model] = Invoice, kind: str = ""):
        self.model, self._last = model, {}
        self._before = "-".join(filter(None, [prefix, kind]))

    @classmethod
    def of_credit_notes(cls, prefix: str) -> "Numbers":
        return cls(prefix, CreditNote, "CN")

    def draw(self, year: int) -> str:
        """Return the next number of a year, above any of that form in the book, imported ones too."""
        stem = f"{self._before}-{year:04d}-" if self._before else f"{year:04d}-"
        if stem not in self._last:
            self._last[stem] = self._highest(stem)
        self._last[stem] += 1
        return f"{stem}{self._last[stem]:04d}"

    def _highest(self, stem: str) -> int:
        form = re.compile(re.escape(stem) + r"([0-9]{4,})")
        numbers = self.model.objects.filter(number__startswith=stem).values_list("number", flat=True)
        found = [form.fullmatch(number) for number in numbers]
        return max((int(match[1]) for match in found if match), default=0)
