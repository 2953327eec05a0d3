"""Sharing an invoice or a statement by a link."""

from datetime import timedelta

from django import forms

from practice.lib.forms import BookForm

DAYS = ((7, "7 days"), (30, "30 days"), (90, "90 days"))


class ShareForm(BookForm):
    """How long a link opens, and whether it shows the horses' history, too."""

    days = forms.TypedChoiceField(label="It opens for", choices=DAYS, coerce=int, initial=30)
    with_history = forms.BooleanField(
        label="Show the work on this client's horses, too",
        required=False,
        help_text="Days and services since the client became an owner; no notes, findings, or prices.",
    )

    @property
    def until(self):
        """The last day on which the link opens."""
        return self.profile.today + timedelta(self.cleaned_data["days"])
