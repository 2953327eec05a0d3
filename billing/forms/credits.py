"""The form of a credit note: what to credit, why, and a look at what comes of it before it is issued."""

import hashlib
from datetime import date
from decimal import Decimal

from django import forms

from billing.actions.crediting import check_credit
from billing.models import CreditNote, InvoiceLine
from billing.papers.credit_note import name_of_line
from billing.reports.credit_page import CreditPreview, preview_credit
from billing.reports.credits import InvoiceCredits
from practice.lib import formats
from practice.lib.errors import RuleBroken
from practice.lib.forms import BookForm, NumberField, PastDayField
from practice.lib.profile import Profile

ALL, SOME = "all", "some"


class CreditForm(BookForm):
    """All that is left of an invoice, or amounts of its lines. It is issued once its preview was seen."""

    what = forms.ChoiceField(label="What to credit")
    reason = forms.ChoiceField(
        label="Reason",
        choices=[
            (CreditNote.Why.CORRECTION, "Correction: something was billed wrong"),
            (CreditNote.Why.GOODWILL, "Goodwill: a favor to the client"),
            (CreditNote.Why.BAD_DEBT, "Bad debt: it will not be paid"),
        ],
    )
    again = forms.BooleanField(
        required=False,
        label="Bill it again once it is corrected",
        help_text="For a correction of everything a stop was billed. You can also decide later, at the stop.",
    )
    date = PastDayField(label="Date")
    note = forms.CharField(
        required=False,
        label="Note",
        help_text="Printed on the credit note.",
        widget=forms.Textarea,
    )
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    preview: CreditPreview | None = None

    def __init__(self, *args, profile: Profile, credits: InvoiceCredits, **kwargs):
        super().__init__(*args, profile=profile, **kwargs)
        self.credits = credits
        left = credits.standing.net_left + credits.standing.tax_left
        self.fields["what"].choices = [
            (ALL, f"All that is left: {formats.money(left, profile.currency, profile.locale)}"),
            (SOME, "The amounts below"),
        ]
        lines = self._line_fields(profile)
        before = {"what": self.fields["what"]} | lines
        self.fields = before | {name: field for name, field in self.fields.items() if name != "what"}
        self.fit(profile)

    def _line_fields(self, profile: Profile) -> dict[str, NumberField]:
        """Return a field for each line of which something is left, by `line_` and its number."""
        rows = {line.pk: line for line in self.credits.invoice.lines.for_paper()}
        lines = [rows[key] for key in self.credits.lines] or [None]
        fields = {}
        for number, left in self.credits.standing.named_left.items():
            line = lines[number - 1]
            fields[f"line_{number}"] = NumberField(
                label=label_of(line) if line else "Net amount",
                required=False,
                money=True,
                places=9,
                example="25.00",
                help_text=hint_of(left, line.day if line else None, profile),
            )
        return fields

    @property
    def amounts(self) -> dict[int, Decimal] | None:
        """The amounts typed, by the number of the line; None: all that is left."""
        if self.cleaned_data["what"] == ALL:
            return None
        return {
            int(name.removeprefix("line_")): value
            for name, value in self.cleaned_data.items()
            if name.startswith("line_") and value is not None
        }

    def clean(self):
        data = super().clean()
        if self.errors:
            return data
        typed = [name for name, value in data.items() if name.startswith("line_") and value is not None]
        if data["what"] == ALL and typed:
            self.add_error("what", "You typed amounts. Choose 'The amounts below', or clear them.")
        elif data["what"] == SOME and not typed:
            self.add_error("what", "Type an amount for at least one line, or choose all that is left.")
        return data

    def may_be_saved(self) -> bool:
        """Whether it is valid, and what comes of it now is what the reader has seen."""
        if not super().may_be_saved():
            return False
        data = self.cleaned_data
        try:
            check_credit(self.credits, data["date"], data["reason"], data["again"], self.profile)
            self.preview = preview_credit(self.credits.invoice, self.amounts, data, self.profile)
        except RuleBroken as error:
            self.refuse(str(error))
            return False
        if data["seen"] == self.seal:
            return True
        self.data = self.data.copy()
        self.data[self.add_prefix("seen")] = self.seal
        return False

    @property
    def seal(self) -> str:
        """What stands for the preview and all that was typed: another one for another credit note."""
        facts = [self.preview.as_text, *(f"{name}={self.cleaned_data[name]}" for name in ("date", "reason"))]
        facts += [f"{name}={self.cleaned_data[name]}" for name in ("again", "note")]
        return hashlib.sha256("\n".join(facts).encode()).hexdigest()[:32]

    @property
    def save_label(self) -> str:
        if self.preview is None:
            return "Preview"
        return f"Issue the credit note, {self.preview.total}"


def label_of(line: InvoiceLine) -> str:
    """Return how the field of a line is called: `Bramble: Reset`, `No-show`."""
    return f"{line.horse}: {name_of_line(line)}" if line.horse else name_of_line(line)


def hint_of(left: Decimal, day: date | None, profile: Profile) -> str:
    """Return what a field of a line says: `40.00 left, before tax, October 14`."""
    amount = formats.amount(left, profile.currency, profile.locale)
    when = [formats.day_and_month(day, profile.locale)] if day else []
    return ", ".join([f"{amount} left", "before tax", *when])


def initial_credit(day: date) -> dict:
    """Return what a new form is filled in with."""
    return {"what": ALL, "reason": CreditNote.Why.CORRECTION, "date": day}
