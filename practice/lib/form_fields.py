"""Fields of forms that read numbers and dates as the reader writes them, exactly."""

from datetime import date
from decimal import Decimal
from typing import NamedTuple

from django import forms
from django.core.exceptions import ValidationError

from practice.lib import formats
from practice.lib.addresses import id_of
from practice.lib.millionths import LARGEST
from practice.lib.money import minor_digits
from practice.lib.periods import FIRST_DAY, add_months, last_day_in_reach


class WrittenLike(NamedTuple):
    """How numbers are read before the form hands its practice's profile to the field."""

    locale: str = "en-US"
    currency: str = "USD"
    today: date | None = None


YEARS_TO_PLAN = 2


class NumberField(forms.Field):
    """A number in the reader's locale, as a Decimal; never a binary float.

    `money` allows as many decimals as the currency has, `places` that many; `step` only its multiples. A
    `price` may have more decimals than the currency; both are shown with no fewer. `example` is the number
    that errors suggest, written with a point.
    """

    widget = forms.TextInput
    short = True

    def __init__(
        self,
        *,
        places=6,
        money=False,
        low=None,
        above=None,
        high=LARGEST,
        step=None,
        example="12.5",
        **kwargs,
    ):
        for unused in ("max_digits", "decimal_places", "min_value", "max_value"):
            kwargs.pop(unused, None)
        super().__init__(**kwargs)
        self.places, self.money, self.example = places, money, example
        self.low, self.above, self.high, self.step = low, above, high, step
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
            raise ValidationError(f"Type a number such as {self._example}.", code="invalid") from None

    def validate(self, value):
        super().validate(value)
        if value is None:
            return
        if abs(value) >= LARGEST:
            raise ValidationError("This number is too large. Check what you typed.", code="too_large")
        places = min(self.places, minor_digits(self.profile.currency)) if self.money else self.places
        if -value.normalize().as_tuple().exponent > places:
            self._refuse("a whole number" if not places else f"a number with {_at_most(places)}")
        if self.step and value % self.step:
            self._refuse(f"a number in steps of {self._written(self.step)}")
        if self.low is not None and value < self.low:
            self._refuse(f"a number of at least {self._written(self.low)}")
        if self.above is not None and value <= self.above:
            self._refuse(f"a number above {self._written(self.above)}")
        if self.high is not None and value > self.high:
            self._refuse(f"a number up to {self._written(self.high)}")

    def _refuse(self, wanted: str) -> None:
        raise ValidationError(f"Type {wanted}, such as {self._example}.", code="number")

    @property
    def _example(self) -> str:
        """The example as the reader writes it, with as many decimals as a price has."""
        return self.example.replace(".", formats.decimal_mark(self.profile.locale))

    def _written(self, value: Decimal) -> str:
        return formats.quantity(Decimal(value), self.profile.locale)

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
    """Return `at most 2 decimals` or `at most 1 decimal`."""
    return f"at most {formats.counted(places, 'decimal')}"


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
    """A date of the years that a book is about; the field of the browser, or typed as 2026-10-14."""

    short = True

    def __init__(self, **kwargs):
        kwargs.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        super().__init__(input_formats=["%Y-%m-%d"], **kwargs)
        self.error_messages["invalid"] = "Type a date such as 2026-10-14."
        self.profile = WrittenLike()

    @property
    def today(self) -> date:
        if self.profile.today is None:
            raise TypeError("The profile of this form does not say which day today is.")
        return self.profile.today

    def last_day(self) -> date:
        """Return the last day that can be typed."""
        return last_day_in_reach(self.today)

    def show_last_day(self) -> None:
        """Let the browser's calendar end with the last day."""
        self.widget.attrs["max"] = self.last_day().isoformat()

    def too_late(self, last: date) -> str:
        return f"This day is too far ahead. Type a day up to {last.isoformat()}."

    def validate(self, value):
        super().validate(value)
        if value and value < FIRST_DAY:
            first = FIRST_DAY.isoformat()
            raise ValidationError(f"This day is too long ago. Type {first} or a later day.", code="too_early")
        if value and value > (last := self.last_day()):
            raise ValidationError(self.too_late(last), code="too_late")


class PastDayField(DayField):
    """The day of something that has happened: today, or before. Today is the profile's."""

    def last_day(self) -> date:
        return self.today

    def too_late(self, last: date) -> str:
        return f"This day is still ahead. Type today, {last.isoformat()}, or an earlier day."


class PlannedDayField(DayField):
    """The day of something planned: up to two years ahead of today."""

    def last_day(self) -> date:
        return add_months(self.today, 12 * YEARS_TO_PLAN)

    def too_late(self, last: date) -> str:
        return f"This day is more than two years ahead. Type a day up to {last.isoformat()}."


class RowsField(forms.ModelMultipleChoiceField):
    """Rows to select. A key that no row can have, which SQLite cannot even look for, is none of them."""

    def clean(self, value):
        if isinstance(value, (list, tuple)):
            for key in value:
                if id_of(str(key)) is None:
                    code = "invalid_pk_value"
                    raise ValidationError(self.error_messages[code], code=code, params={"pk": key})
        return super().clean(value)
