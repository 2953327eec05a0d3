"""The form by which a phone asks to be let in."""

from django import forms

from practice.lib.forms import BookForm


class PairForm(BookForm):
    """The code from the computer, and what the phone is called in the list of phones."""

    pairing_code = forms.CharField(
        label="Code",
        max_length=20,
        help_text="The computer shows it under Settings, Phones. Capitals and dashes make no difference.",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        ),
    )
    name = forms.CharField(label="Name of this phone", max_length=40, help_text="Such as Wren's phone.")
