"""Logging in and out. After five wrong passwords, django-axes refuses more for a quarter of an hour."""

from datetime import datetime, timedelta
from math import ceil
from urllib.parse import urlsplit

from axes.handlers.database import AxesDatabaseHandler
from django.conf import settings
from django.contrib.auth import views
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.utils.http import url_has_allowed_host_and_scheme
from django_htmx.http import HttpResponseClientRedirect


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


class LoginRequired(LoginRequiredMiddleware):
    """Leads whoever is not logged in to the login, and then back to the page they were on.

    A public page does not ask who is there: `/health/` has to answer where the database does not.
    """

    def process_view(self, request: HttpRequest, view_func, view_args, view_kwargs) -> HttpResponse | None:
        if not getattr(view_func, "login_required", True):
            return None
        return super().process_view(request, view_func, view_args, view_kwargs)

    def handle_no_permission(self, request: HttpRequest, view_func) -> HttpResponse:
        return to_login(request)


def to_login(request: HttpRequest) -> HttpResponse:
    """Lead to the login and back; htmx is told to leave the page, and swaps nothing into it.

    What a script or a service worker fetches by itself is no page to be led from: it gets 401. A page that a
    worker fetches for the browser says that it is one.
    """
    if not request.htmx and request.headers.get("Sec-Fetch-Mode", "navigate") != "navigate":
        return HttpResponse(status=401)
    answer = redirect_to_login(page_of(request))
    return HttpResponseClientRedirect(answer.url) if request.htmx else answer


def page_of(request: HttpRequest) -> str:
    """Return the address of the page that a request was made from: one that answers to GET.

    A link names it itself. For a form and for htmx it is the page that it stands on, or home where the
    browser does not say.
    """
    if request.method in ("GET", "HEAD") and not request.htmx:
        return request.get_full_path()
    page = request.htmx.current_url or request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(page, {request.get_host()}, request.is_secure()):
        return settings.LOGIN_REDIRECT_URL
    parts = urlsplit(page)
    return f"{parts.path}?{parts.query}" if parts.query else parts.path


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form whose page was opened before the last login or logout: nothing was changed.

    Whoever is logged out is led to the login; htmx opens its page anew.
    """
    if not request.user.is_authenticated:
        return to_login(request)
    if request.htmx:
        return HttpResponseClientRedirect(page_of(request))
    return render(request, "403_csrf.html", {"page": page_of(request)}, status=403)


def locked_out(request: HttpRequest, response, credentials: dict) -> HttpResponse:
    """Answer 429 after too many wrong passwords, and say when to try again.

    What is tried in the meantime is not counted and does not put it off.
    """
    again = end_of_lock(request, credentials)
    wait = max(again - timezone.now(), timedelta(seconds=1))
    # Rounded up to a whole minute, so that the time on the page is never too early.
    shown = timezone.localtime(again + timedelta(seconds=59)).replace(second=0, microsecond=0)
    context = {"again": shown, "limit": settings.AXES_FAILURE_LIMIT}
    answer = render(request, "locked.html", context, status=429)
    answer["Retry-After"] = str(ceil(wait.total_seconds()))
    return answer


def end_of_lock(request: HttpRequest, credentials: dict) -> datetime:
    """Return when so few wrong passwords are left that another one may be tried.

    They are counted in a row per browser, and a row counts until its last one is a cool-off old.
    """
    [attempts] = AxesDatabaseHandler().get_user_attempts(request, credentials)
    left = settings.AXES_FAILURE_LIMIT - 1
    for at, failures in attempts.order_by("-attempt_time").values_list(
        "attempt_time", "failures_since_start"
    ):
        left -= failures
        if left < 0:
            return at + settings.AXES_COOLOFF_TIME
    return timezone.now()
