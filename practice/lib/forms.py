"""Forms that read numbers and dates as the reader writes them, exactly."""

from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError

from practice.lib import formats
from practice.lib.errors import RuleBroken
from practice.lib.money import minor_digits
from practice.lib.profile import Profile


class NumberField(forms.Field):
    """A number in the reader's locale, as a Decimal; never a binary float.

    `money` refuses what is finer than the currency, `places` what has more decimals. `example` is what
    an error tells to type.
    """

    widget = forms.TextInput
    short = True

    def __init__(self, *, places=6, money=False, low=None, above=None, high=None, example="12.5", **kwargs):
        for unused in ("max_digits", "decimal_places", "min_value", "max_value"):
            kwargs.pop(unused, None)
        super().__init__(**kwargs)
        self.places, self.money, self.example = places, money, example
        self.low, self.above, self.high = low, above, high
        self.profile = Profile(name="")
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
            raise ValidationError(f"Type a number with at most {places} decimals, such as {self.example}.")
        if self.low is not None and value < self.low:
            raise ValidationError(f"Type a number of at least {self.low}, such as {self.example}.")
        if self.above is not None and value <= self.above:
            raise ValidationError(f"Type a number above {self.above}, such as {self.example}.")
        if self.high is not None and value > self.high:
            raise ValidationError(f"Type a number up to {self.high}, such as {self.example}.")
        if abs(value) >= 10**12:
            raise ValidationError("This number is too large.")

    def prepare_value(self, value):
        if isinstance(value, Decimal):
            return formats.for_a_field(value, self.profile.locale)
        return value

    def has_changed(self, initial, data):
        try:
            return self.to_python(data) != initial
        except ValidationError:
            return True


class DayField(forms.DateField):
    """A date; the field of the browser, or typed as 2026-10-14."""

    short = True

    def __init__(self, **kwargs):
        kwargs.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        super().__init__(input_formats=["%Y-%m-%d"], **kwargs)
        self.error_messages["invalid"] = "Type a date such as 2026-10-14."


class BookFields:
    """What plain and model forms share: the practice's locale and currency, and errors in our words."""

    def fit(self, profile: Profile) -> None:
        self.profile = profile
        for name, field in self.fields.items():
            field.profile = profile
            if field.required and "required" in field.error_messages:
                field.error_messages["required"] = "This cannot be blank."
            if isinstance(field, forms.DateField) and not isinstance(field, DayField):
                again = DayField(required=field.required, label=field.label, help_text=field.help_text)
                again.profile = profile
                self.fields[name] = again
            elif isinstance(field, forms.IntegerField):
                field.short = True
                field.error_messages["invalid"] = "Type a whole number, such as 14."
                field.widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})
            elif isinstance(field, forms.ModelChoiceField):
                field.error_messages["invalid_choice"] = "Choose one of the list."
            elif isinstance(field.widget, forms.Textarea):
                field.widget.attrs["rows"] = 3

    def try_to(self, action, *args, **kwargs):
        """Do an action; a rule that says no becomes an error of the form. Returns what it gave, or None."""
        try:
            return action(*args, **kwargs)
        except RuleBroken as error:
            self.add_error(None, str(error))
            return None


class BookForm(BookFields, forms.Form):
    def __init__(self, *args, profile: Profile, **kwargs):
        super().__init__(*args, **kwargs)
        self.fit(profile)


class BookModelForm(BookFields, forms.ModelForm):
    def __init__(self, *args, profile: Profile, **kwargs):
        super().__init__(*args, **kwargs)
        self.fit(profile)
