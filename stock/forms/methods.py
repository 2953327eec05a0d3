"""The method by which the shelf is costed, from a day on."""

from django import forms

from practice.lib.forms import BookForm, DayField
from practice.lib.profile import ValuationMethod


class MethodForm(BookForm):
    valid_from = DayField(label="From")
    method = forms.ChoiceField(label="Cost the shelf by", choices=ValuationMethod.choices)
