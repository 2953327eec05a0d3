"""The method by which the shelf is costed, from a day on."""

from django import forms

from practice.lib.choices import ValuationMethod
from practice.lib.forms import BookForm, DayField


class MethodForm(BookForm):
    valid_from = DayField(label="From")
    method = forms.ChoiceField(label="Cost the shelf by", choices=ValuationMethod.choices())
