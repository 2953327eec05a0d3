"""Forms that read numbers and dates as the reader writes them, exactly."""

from django import forms

from practice.lib.form_fields import DayField, NumberField
from practice.lib.profile import Profile

__all__ = ["BookForm", "BookModelForm", "DayField", "NumberField"]


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


class BookForm(BookFields, forms.Form):
    def __init__(self, *args, profile: Profile, **kwargs):
        super().__init__(*args, **kwargs)
        self.fit(profile)


class BookModelForm(BookFields, forms.ModelForm):
    def __init__(self, *args, profile: Profile, **kwargs):
        super().__init__(*args, **kwargs)
        self.fit(profile)
