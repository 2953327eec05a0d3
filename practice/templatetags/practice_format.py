"""Money, quantities and dates in templates."""

from django import template

register = template.Library()
