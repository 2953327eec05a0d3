"""Forms that read numbers and dates as the reader writes them, exactly, and ask before they overwrite."""

from collections.abc import Iterable

from django import forms
from django.db.models import Model
from django.db.models.fields import BLANK_CHOICE_DASH

from practice.lib.asking import Clash, Odd, as_text, in_words, odd_times, seal, tick_for, unseal
from practice.lib.characters import forbidden_in
from practice.lib.form_fields import DayField, NumberField, PastDayField, PlannedDayField
from practice.lib.names import is_same_name
from practice.lib.profile import Profile
from practice.lib.refusals import tell_form

__all__ = [
    "BookForm",
    "BookModelForm",
    "DayField",
    "NamedForm",
    "NumberField",
    "Odd",
    "PastDayField",
    "PlannedDayField",
    "odd_times",
]

# What a field says in our words, by the code of the error.
ERRORS = {
    "required": "This cannot be blank.",
    "invalid_choice": "Choose one from the list.",
    "min_value": "Type a number of at least %(limit_value)s.",
    "max_value": "Type a number up to %(limit_value)s.",
    "max_length": "Type at most %(limit_value)s characters.",
    "null_characters_not_allowed": "This has a character that cannot be saved. Type it again.",
}
# Of a field: what is in it is what a phone calls the row that the form adds, until the book has it.
NAMES_ROW = {"data-names": True}
NOTHING_CHOSEN = BLANK_CHOICE_DASH[0][1]


def _check_characters(text: str) -> None:
    """Refuse control characters, which neither papers nor the book's files can hold."""
    if forbidden_in(text) not in ("", "U+0000"):  # Django refuses NUL itself, by the same words
        raise forms.ValidationError(ERRORS["null_characters_not_allowed"], code="characters")


class BookFields:
    """What plain and model forms share: the practice's locale and currency, errors in our words, questions.

    A form that changes something has a `row`: then the page carries the values that it was opened on, and
    `may_be_saved` finds what changed in the meantime. `odd` says what is possible but odd; it is asked once.
    `ranges` bounds whole numbers: (lowest, highest) by the name of the field.
    """

    row: Model | None = None
    # What the page calls the reader's own values where they clash.
    yours = "You typed"
    ranges: dict[str, tuple[int, int]] = {}

    def fit(self, profile: Profile) -> None:
        self.profile, self.clashes, self.asked = profile, [], []
        for name, field in list(self.fields.items()):
            if isinstance(field, forms.DateField) and not isinstance(field, DayField):
                field = DayField(required=field.required, label=field.label, help_text=field.help_text)
                self.fields[name] = field
            field.profile = profile
            field.error_messages |= ERRORS
            if isinstance(field, forms.CharField) and not isinstance(field, forms.UUIDField):
                field.validators = [*field.validators, _check_characters]
            if isinstance(field, DayField):
                field.show_last_day()
            elif isinstance(field, forms.IntegerField):
                field.short = True
                field.error_messages["invalid"] = "Type a whole number, such as 14."
                field.widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})
                if name in self.ranges:
                    self._bound(field, *self.ranges[name])
            elif isinstance(field, forms.EmailField):
                field.error_messages["invalid"] = "Type an email address, such as ann@example.com."
                for validator in field.validators:
                    if getattr(validator, "code", "") == "invalid":
                        validator.message = field.error_messages["invalid"]
            elif isinstance(field, forms.ChoiceField):
                self._name_the_blank_choice(field)
            elif isinstance(field.widget, forms.Textarea):
                field.widget.attrs["rows"] = 3

    def _bound(self, field: forms.IntegerField, low: int, high: int) -> None:
        def check(value):
            if not low <= value <= high:
                raise forms.ValidationError(f"Type a whole number from {low} to {high}.", code="range")

        field.validators = [check]

    def _name_the_blank_choice(self, field: forms.ChoiceField) -> None:
        """Say in words what a list shows where nothing is chosen, not in dashes."""
        words = "Choose one" if field.required else "None"
        if isinstance(field, forms.ModelChoiceField):
            field.empty_label = words if field.empty_label == NOTHING_CHOSEN else field.empty_label
        else:
            named = [(value, words if label == NOTHING_CHOSEN else label) for value, label in field.choices]
            field.choices = named

    def odd(self) -> Iterable[Odd]:
        """Return what is possible but odd about a valid form; the reader is asked whether it is right."""
        return ()

    def may_be_saved(self) -> bool:
        """Whether it is valid, nobody changed the row meanwhile, and the reader stands by what is odd.

        Else `errors`, `clashes` or `asked` say what the page shows. Call it with the row locked.
        """
        tell_form(self)
        return self.is_valid() and not self._find_clashes() and not self._find_odd()

    def refuse(self, reason: str) -> None:
        """Show on top, or beside a field, which rule the valid form broke."""
        self.add_error(None, reason)

    def state(self) -> dict[str, str]:
        """Return the values that the row gave the fields, as text, by the name of the field."""
        return {
            name: as_text(field, self.get_initial_for_field(field, name))
            for name, field in self.fields.items()
            if self._is_compared(field)
        }

    def typed(self) -> dict[str, str]:
        """Return what was typed, as text, by the name of the field."""
        return {
            name: as_text(
                field, field.widget.value_from_datadict(self.data, self.files, self.add_prefix(name))
            )
            for name, field in self.fields.items()
            if self._is_compared(field)
        }

    def typed_in_words(self) -> dict[str, str]:
        """Return what was typed as a reader says it, by the label of the field; nothing of blank ones."""
        typed = self.typed()
        return {
            str(self[name].label): in_words(self.fields[name], text) for name, text in typed.items() if text
        }

    @staticmethod
    def _is_compared(field: forms.Field) -> bool:
        return not (field.disabled or field.widget.is_hidden or isinstance(field, forms.FileField))

    @property
    def opened_name(self) -> str:
        return self.add_prefix("opened")

    @property
    def opened(self) -> str:
        """The values that the form was opened on, for the page to carry; blank for something new."""
        if self.row is None:
            return ""
        # After an error it is still the page that was opened first; after a question the values shown there.
        before = self.data.get(self.opened_name, "") if self.is_bound and not self.clashes else ""
        return before or seal(self.state())

    def _find_clashes(self) -> list[Clash]:
        """Find what changed since the form was opened, and let what was left alone follow it."""
        token = self.data.get(self.opened_name, "") if self.row is not None else ""
        if not token:
            return []
        before, now, typed = unseal(token), self.state(), self.typed()
        changed = [name for name in now if now[name] not in (before.get(name), typed[name])]
        self.clashes = [self._clash(name, before, now, typed) for name in changed]
        self.data = self.data.copy() if self.clashes else self.data
        for name in changed:
            if typed[name] == before.get(name):
                self.data[self.add_prefix(name)] = now[name]
        return self.clashes

    def _clash(self, name: str, before: dict, now: dict, typed: dict) -> Clash:
        field = self.fields[name]
        words = [in_words(field, values[name]) for values in (now, typed)]
        return Clash(self[name].label, *words, is_untouched=typed[name] == before.get(name))

    @property
    def tick_name(self) -> str:
        return self.add_prefix("right")

    @property
    def tick(self) -> str:
        """What the tick says that answers the questions of `asked`."""
        return tick_for(self.asked, self.typed())

    def _find_odd(self) -> list[Odd]:
        """Find what is odd and was not said to be right: a tick stands for the values that it was beside."""
        self.asked = list(self.odd())
        if self.asked and self.data.get(self.tick_name) == self.tick:
            self.asked = []
        return self.asked

    @property
    def questions(self) -> list[tuple[str, str]]:
        """The questions of the page, each with the address of its field on it."""
        return [(row.message, self[row.field].id_for_label) for row in self.asked]


class BookForm(BookFields, forms.Form):
    """A form that is not a model's. With a `row` it is filled in from the fields of the same name."""

    def __init__(self, *args, profile: Profile, row: Model | None = None, **kwargs):
        if row is not None:
            self.row = row
            typed = {n for n, field in self.base_fields.items() if not isinstance(field, forms.FileField)}
            own = {field.name for field in row._meta.concrete_fields} & typed
            kwargs["initial"] = {name: getattr(row, name) for name in own} | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)
        self.fit(profile)


class BookModelForm(BookFields, forms.ModelForm):
    def __init__(self, *args, profile: Profile, **kwargs):
        super().__init__(*args, **kwargs)
        self.row = None if self.instance._state.adding else self.instance
        self.fit(profile)


class NamedForm(BookModelForm):
    """A form of something with a name: a second one of the same name is asked about."""

    def odd(self) -> Iterable[Odd]:
        yield from super().odd()
        name, rows = self.cleaned_data["name"], self._meta.model.objects.exclude(pk=self.instance.pk)
        if self.row is None or "name" in self.changed_data:
            for pk, other in rows.values_list("pk", "name"):
                if is_same_name(name, other):
                    yield Odd("same_name", "name", self.ask_about(rows.get(pk=pk)))
                    return

    def ask_about(self, other: Model) -> str:
        """Return the question about a row of the same name."""
        archived = " (it is archived)" if getattr(other, "archived", False) else ""
        thing = self._meta.model._meta.verbose_name
        return f"Another {thing} is named {other.name} too{archived}. Is this a second one?"
