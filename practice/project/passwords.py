"""Passwords: what one has to be like, wherever it is set, and the page to change one's own."""

import secrets
from functools import partial

from django import forms
from django.contrib.auth import authenticate, get_user_model, password_validation, update_session_auth_hash
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.debug import sensitive_post_parameters

from practice.lib.errors import RuleBroken
from practice.lib.forms import BookForm
from practice.lib.pages import GET_OR_POST
from practice.lib.things import form_page
from practice.project.logins import end_logins


class LongEnough(password_validation.MinimumLengthValidator):
    def get_error_message(self) -> str:
        return f"Use at least {self.min_length} characters."


class NotCommon(password_validation.CommonPasswordValidator):
    def get_error_message(self) -> str:
        return "This is a common password. Choose another one."


class NotTheName(password_validation.UserAttributeSimilarityValidator):
    def get_error_message(self) -> str:
        return "This is too much like the login's name. Choose another one."


class NotDigitsAlone(password_validation.NumericPasswordValidator):
    def get_error_message(self) -> str:
        return "Use letters as well as digits."


def problems_of(password: str, user) -> list[str]:
    """Return what is wrong with a new password of a login, in sentences; none where it may be used."""
    try:
        password_validation.validate_password(password, user)
    except ValidationError as error:
        return error.messages
    return []


def check_first_password(name: str, password: str) -> None:
    """Raise RuleBroken("weak_password") if the password given for the first login may not be used."""
    if problems := problems_of(password, get_user_model()(username=name)):
        raise RuleBroken("weak_password", f"ROUNDBOOK_PASSWORD: {' '.join(problems)}")


def made_up_password() -> str:
    """Return a new password of 64 random bits that can be read off a screen and typed."""
    return "-".join(secrets.token_hex(2) for _ in range(4))


class PasswordForm(BookForm):
    """The current password, and the new one twice."""

    current = forms.CharField(
        label="Current password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    new = forms.CharField(
        label="New password",
        strip=False,
        help_text="At least 12 characters. Several words with spaces between them are fine.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        label="New password again",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, request: HttpRequest, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.request = request

    def clean_current(self) -> str:
        """Check it as a login does, so that wrong ones are counted and lead to the same wait."""
        current = self.cleaned_data["current"]
        if not authenticate(self.request, username=self.request.user.get_username(), password=current):
            raise ValidationError("This is not your current password. Type it again.", code="wrong")
        return current

    def clean_new(self) -> str:
        new = self.cleaned_data["new"]
        if problems := problems_of(new, self.request.user):
            raise ValidationError(problems)
        return new

    def clean(self) -> dict:
        data = super().clean()
        if "new" in data and "again" in data and data["new"] != data["again"]:
            self.add_error("again", "This differs from the new password. Type both again.")
        return data

    def save(self):
        """Set the new password. Every session but this one ends with the old one."""
        user = self.request.user
        user.set_password(self.cleaned_data["new"])
        user.save(update_fields=["password"])
        update_session_auth_hash(self.request, user)
        end_logins(user, but=self.request.session.session_key)
        return user


@sensitive_post_parameters()
@GET_OR_POST
def password_change(request: HttpRequest) -> HttpResponse:
    """The page to change one's own password."""
    return form_page(
        request,
        partial(PasswordForm, request),
        heading="Your password",
        lead=f"For the login {request.user.get_username()}. Any other device has to log in again"
        " afterward, and phones have to be paired again.",
        back=(reverse("practice:settings"), "Settings"),
        save_label="Change password",
        message="Password changed. Any other device has to log in again.",
        save=PasswordForm.save,
    )
