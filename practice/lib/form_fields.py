"""Fields of forms that read numbers and dates as the reader writes them, exactly."""

from decimal import Decimal
from typing import NamedTuple

from django import forms
from django.core.exceptions import ValidationError

from practice.lib import formats
from practice.lib.money import minor_digits


class WrittenLike(NamedTuple):
    """How numbers are read before the form hands its practice's profile to the field."""

    locale: str = "en-US"
    currency: str = "USD"


class NumberField(forms.Field):
    """A number in the reader's locale, as a Decimal; never a binary float.

    `money` allows as many decimals as the currency has, `places` that many. A `price` may have more than
    the currency has; both are shown with no fewer. `example` is the number that errors suggest.
    """

    widget = forms.TextInput
    short = True

    def __init__(self, *, places=6, money=False, low=None, above=None, high=None, example="12.5", **kwargs):
        for unused in ("max_digits", "decimal_places", "min_value", "max_value"):
            kwargs.pop(unused, None)
        super().__init__(**kwargs)
        self.places, self.money, self.example = places, money, example
        self.low, self.above, self.high = low, above, high
        self.profile = WrittenLike()
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})

    def to_python(self, value):
        if value is None or not str(value).strip():
            return None
        if isinstance(value, Decimal | int):
            return Decimal(value)
        try:
            return formats.parse_number(str(value), self.profile.locale)
        except ValueError:
            raise ValidationError(f"Type a number such as {self.example}.", code="invalid") from None

    def validate(self, value):
        super().validate(value)
        if value is None:
            return
        places = min(self.places, minor_digits(self.profile.currency)) if self.money else self.places
        if -value.normalize().as_tuple().exponent > places:
            raise ValidationError(f"Type a number with {_at_most(places)}, such as {self.example}.")
        if self.low is not None and value < self.low:
            raise ValidationError(f"Type a number of at least {self.low}, such as {self.example}.")
        if self.above is not None and value <= self.above:
            raise ValidationError(f"Type a number above {self.above}, such as {self.example}.")
        if self.high is not None and value > self.high:
            raise ValidationError(f"Type a number up to {self.high}, such as {self.example}.")
        if abs(value) >= 10**12:
            raise ValidationError("This number is too large. Check what you typed.")

    def prepare_value(self, value):
        if isinstance(value, Decimal):
            return formats.for_a_field(value, self.profile.locale, self.least_decimals)
        return value

    @property
    def least_decimals(self) -> int:
        """How many decimals it is shown with, even where they are zeros: an amount has the currency's."""
        return minor_digits(self.profile.currency) if self.money else 0

    def has_changed(self, initial, data):
        try:
            return self.to_python(data) != initial
        except ValidationError:
            return True


def _at_most(places: int) -> str:
    """Return `at most 2 decimals`, `at most 1 decimal` or `no decimals`."""
    return f"at most {formats.counted(places, 'decimal')}" if places else "no decimals"


class PercentField(NumberField):
    """A fraction of 1 that is typed and shown in percent: 95 for 0.95. Its bounds are in percent."""

    def __init__(self, *, places=4, **kwargs):
        super().__init__(places=places, **kwargs)

    def clean(self, value):
        percent = super().clean(value)
        return None if percent is None else percent / 100

    def prepare_value(self, value):
        return super().prepare_value(value * 100 if isinstance(value, Decimal) else value)

    def has_changed(self, initial, data):
        return super().has_changed(None if initial is None else initial * 100, data)


class PriceField(NumberField):
    """A price or cost of one unit. It may have more decimals than the currency has, and shows no fewer."""

    @property
    def least_decimals(self) -> int:
        return minor_digits(self.profile.currency)


class DayField(forms.DateField):
    """A date; the field of the browser, or typed as 2026-10-14."""

    short = True

    def __init__(self, **kwargs):
        kwargs.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        super().__init__(input_formats=["%Y-%m-%d"], **kwargs)
        self.error_messages["invalid"] = "Type a date such as 2026-10-14."
