"""The method by which stock is valued, from a day on."""

from django import forms

from practice.lib.choices import ValuationMethod
from practice.lib.forms import BookForm, PlannedDayField


class MethodForm(BookForm):
    valid_from = PlannedDayField(label="Starting")
    method = forms.ChoiceField(label="Method", choices=ValuationMethod.choices())
