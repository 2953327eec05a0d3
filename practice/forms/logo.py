"""The field that takes a practice's logo."""

from django import forms

from practice.lib.logo import LARGEST, clean_logo


class LogoField(forms.FileField):
    """A picture, as `clean_logo` keeps it; None where none was chosen."""

    def __init__(self, **kwargs):
        super().__init__(
            required=False,
            label="Logo",
            help_text="PNG or JPEG, at most 2 MB. Without one, invoices show your initials.",
            **kwargs,
        )

    def clean(self, data, initial=None) -> bytes | None:
        upload = super().clean(data, initial)
        if not upload:
            return None
        try:
            return clean_logo(upload.read(LARGEST + 1))
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None
