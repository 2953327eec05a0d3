"""What an item is counted in: a field that proposes units by the names of CLDR, and takes any other word."""

from functools import cache

from babel.units import get_unit_name
from django import forms
from django.utils.html import format_html, format_html_join

from practice.lib.territories import ENGLISH

MEASURED = {
    "ml": "volume-milliliter",
    "l": "volume-liter",
    "fl oz": "volume-fluid-ounce",
    "g": "mass-gram",
    "kg": "mass-kilogram",
    "oz": "mass-ounce",
    "lb": "mass-pound",
    "ft": "length-foot",
    "m": "length-meter",
}


@cache
def proposed_units() -> dict[str, str]:
    """Return the name of each unit that is proposed, by what the book writes for it."""
    names = {unit: get_unit_name(measure, locale=ENGLISH) for unit, measure in MEASURED.items()}
    return {"each": "counted one by one", **names}


class UnitInput(forms.TextInput):
    """A text field with a list of units to choose from. It works without a script."""

    def render(self, name, value, attrs=None, renderer=None):
        proposed = f"{(attrs or {}).get('id', name)}_units"
        field = super().render(name, value, {**(attrs or {}), "list": proposed}, renderer)
        options = format_html_join("", '<option value="{}">{}</option>', proposed_units().items())
        return format_html('{}<datalist id="{}">{}</datalist>', field, proposed, options)
