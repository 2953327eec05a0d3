"""Forms that read numbers and dates as the reader writes them, exactly."""

from django import forms
from django.db.models.fields import BLANK_CHOICE_DASH

from practice.lib.form_fields import DayField, NumberField
from practice.lib.profile import Profile

__all__ = ["BookForm", "BookModelForm", "DayField", "NumberField"]

# What a field says in our words, by the code of the error.
ERRORS = {
    "required": "This cannot be blank.",
    "invalid_choice": "Choose one from the list.",
    "min_value": "Type a number of at least %(limit_value)s.",
    "max_value": "Type a number up to %(limit_value)s.",
    "max_length": "Type at most %(limit_value)s characters.",
    "null_characters_not_allowed": "This has a character that cannot be saved. Type it again.",
}
NOTHING_CHOSEN = BLANK_CHOICE_DASH[0][1]


class BookFields:
    """What plain and model forms share: the practice's locale and currency, and errors in our words."""

    def fit(self, profile: Profile) -> None:
        self.profile = profile
        for name, field in list(self.fields.items()):
            if isinstance(field, forms.DateField) and not isinstance(field, DayField):
                field = DayField(required=field.required, label=field.label, help_text=field.help_text)
                self.fields[name] = field
            field.profile = profile
            field.error_messages |= ERRORS
            if isinstance(field, forms.IntegerField):
                field.short = True
                field.error_messages["invalid"] = "Type a whole number, such as 14."
                field.widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})
            elif isinstance(field, forms.EmailField):
                field.error_messages["invalid"] = "Type an email address, such as ann@example.com."
            elif isinstance(field, forms.ChoiceField):
                self._name_the_blank_choice(field)
            elif isinstance(field.widget, forms.Textarea):
                field.widget.attrs["rows"] = 3

    def _name_the_blank_choice(self, field: forms.ChoiceField) -> None:
        """Say in words what a list shows where nothing is chosen, not in dashes."""
        words = "Choose one" if field.required else "None"
        if isinstance(field, forms.ModelChoiceField):
            field.empty_label = words if field.empty_label == NOTHING_CHOSEN else field.empty_label
        else:
            named = [(value, words if label == NOTHING_CHOSEN else label) for value, label in field.choices]
            field.choices = named


class BookForm(BookFields, forms.Form):
    def __init__(self, *args, profile: Profile, **kwargs):
        super().__init__(*args, **kwargs)
        self.fit(profile)


class BookModelForm(BookFields, forms.ModelForm):
    def __init__(self, *args, profile: Profile, **kwargs):
        super().__init__(*args, **kwargs)
        self.fit(profile)
