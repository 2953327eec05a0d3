"""Money, quantities and dates in templates: `{{ invoice.total|money:profile }}`."""

from django import template
from django.utils import timezone

from practice.lib import formats
from practice.lib.plain import plain as plain_text

register = template.Library()


@register.filter
def money(value, profile) -> str:
    """An amount with the currency's sign."""
    return "" if value is None else formats.money(value, profile.currency, profile.locale)


@register.filter
def amount(value, profile) -> str:
    """An amount without the sign, for columns."""
    return "" if value is None else formats.amount(value, profile.currency, profile.locale)


@register.filter
def price(value, profile) -> str:
    """A price of one unit."""
    return "" if value is None else formats.unit_price(value, profile.currency, profile.locale)


@register.filter
def quantity(value, profile) -> str:
    return "" if value is None else formats.quantity(value, profile.locale)


@register.filter
def percent(value, profile) -> str:
    return "" if value is None else formats.percent(value, profile.locale)


@register.filter
def distance(value, profile) -> str:
    return "" if value is None else formats.distance(value, profile.distance_unit, profile.locale)


@register.filter
def tenths(value, profile) -> str:
    return "" if value is None else formats.tenths(value, profile.locale)


@register.filter
def fulldate(day, profile) -> str:
    """`Wednesday, October 14`, with the year where it is not this one."""
    return formats.full_date(day, profile.locale, profile.today) if day else ""


@register.filter
def longdate(day, profile) -> str:
    """`October 14, 2026`."""
    return formats.long_date(day, profile.locale) if day else ""


@register.filter
def briefdate(day, profile) -> str:
    """`Oct 19`, with the year where it is not this one."""
    return formats.brief_date(day, profile.locale, profile.today) if day else ""


@register.filter
def shortdate(day, profile) -> str:
    """`Mon, Oct 19`; `Oct 19, 2025` where it is not this year."""
    return formats.short_date(day, profile.locale, profile.today) if day else ""


@register.filter
def mediumdate(day, profile) -> str:
    """`Oct 19, 2026`."""
    return formats.medium_date(day, profile.locale) if day else ""


@register.filter
def dayandmonth(day, profile) -> str:
    """`October 14`, with the year where it is not this one."""
    return formats.day_and_month(day, profile.locale, profile.today) if day else ""


@register.filter
def in_words(value, profile) -> str:
    """What a value says of itself: its `in_words`, in the practice's language."""
    return value.in_words(profile.locale)


@register.filter
def monthname(day, profile) -> str:
    """`October 2026`."""
    return formats.month_name(day, profile.locale) if day else ""


@register.filter
def moment(at, profile) -> str:
    """`Oct 14, 2026, 7:05 PM`, in the practice's time zone."""
    return formats.stamp(timezone.localtime(at), profile.locale) if at else ""


@register.filter
def isoday(value) -> str:
    """A day, or what was typed for one, as a date field has it."""
    return value.isoformat() if hasattr(value, "isoformat") else value or ""


@register.filter
def shortmonth(day, profile) -> str:
    """`Oct`."""
    return formats.short_month(day, profile.locale) if day else ""


@register.filter
def about(value, profile) -> str:
    """A number that was worked out, with one decimal at most: `9.5`."""
    return formats.about(value, profile.locale)


@register.filter
def chance(value, profile) -> str:
    """A fraction of 1 as percent: `97%`; never 0 or 100 unless it is."""
    return formats.chance(float(value), profile.locale)


@register.filter
def clock(at, profile) -> str:
    return formats.clock(at, profile.locale) if at else ""


@register.filter
def days_over(days) -> str:
    return "new" if days is None else formats.days_over(days)


@register.filter
def count(number, names: str) -> str:
    """How many there are: `{{ 3|count:"horse" }}` is `3 horses`, `{{ 2|count:"inch,inches" }}` `2 inches`."""
    return formats.counted(number, *names.split(","))


@register.filter
def iso(day) -> str:
    """A day as addresses and date fields have it: `2026-10-14`."""
    return day.isoformat() if day else ""


@register.filter
def plain(value) -> str:
    """A number as a field is filled with it: `12.5`."""
    return "" if value is None else plain_text(value)
