"""Logging in and out. After five wrong passwords, django-axes refuses more for a quarter of an hour."""

from datetime import timedelta

from django.conf import settings
from django.contrib.auth import views
from django.contrib.auth.decorators import login_not_required
from django.shortcuts import render
from django.utils import timezone
from django.utils.decorators import method_decorator


@method_decorator(login_not_required, name="dispatch")
class Login(views.LoginView):
    """The one public page. Fields: `username`, `password`."""

    template_name = "login.html"
    redirect_authenticated_user = True

    def get_form(self, form_class=None):
        form = super().get_form(form_class)
        form.fields["username"].label, form.fields["password"].label = "Name", "Password"
        form.error_messages["invalid_login"] = "Wrong name or password. Try again."
        return form


class Logout(views.LogoutView):
    """Ends the session; only by POST."""


def locked_out(request, response, credentials):
    """Answer 429 after too many wrong passwords, and say when to try again."""
    again = timezone.localtime() + settings.AXES_COOLOFF_TIME
    # Rounded up to a whole minute, so that the time on the page is never too early.
    again = (again + timedelta(seconds=59)).replace(second=0, microsecond=0)
    context = {"again": again, "limit": settings.AXES_FAILURE_LIMIT}
    answer = render(request, "locked.html", context, status=429)
    answer["Retry-After"] = str(int(settings.AXES_COOLOFF_TIME.total_seconds()))
    return answer
