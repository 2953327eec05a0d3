"""Pieces of a page that are too small for a template of their own."""

from dataclasses import asdict

from django import template
from django.urls import reverse
from django.utils.html import format_html

from practice.lib import formats, presses
from practice.lib.list_rows import ListRow

register = template.Library()


@register.simple_tag(takes_context=True)
def tab(context, names: str, url_name: str, label: str) -> str:
    """A link of a row of tabs. The template's `at` says which page is open: the first of `names` is the
    page of this tab, the others are pages that belong to it.
    """
    own, *others = names.split()
    at = context.get("at")
    state = "page" if at == own else "true" if at in others else ""
    current = format_html(' aria-current="{}"', state) if state else ""
    return format_html('<a class="go" href="{}"{}>{}</a>', reverse(url_name), current, label)


@register.simple_tag(takes_context=True)
def quantity_of(context, value, item) -> str:
    """A quantity with the item's unit where it is not counted singly: `12`, `250 ml`."""
    if value is None:
        return ""
    return formats.quantity_of(value, item.unit, context["profile"].locale)


@register.inclusion_tag("parts/row.html")
def list_row(row: ListRow) -> dict:
    """A row of a list, from its values."""
    return asdict(row)


@register.simple_tag
def press() -> str:
    """The hidden field that goes into every form that is sent: sent twice, it is saved once."""
    return format_html('<input type="hidden" name="{}" value="{}">', presses.FIELD, presses.new_press())
