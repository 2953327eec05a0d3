"""What every page is given."""

from django.conf import settings
from django.urls import reverse
from django.utils.crypto import salted_hmac
from django.utils.functional import SimpleLazyObject

from practice.lib.profile import Profile
from practice.models import PhoneEntry
from practice.project.phone.program import color
from practice.project.phone.quiet import HEADER


def device_name(user) -> str:
    """Return the name under which a device keeps what belongs to a login.

    It is another one for each login and each book, since several may be served under one address in the
    course of time.
    """
    return salted_hmac("drafts", str(user.pk)).hexdigest()[:16]


def roundbook(request) -> dict:
    """Return the practice, the date that the environment fixes (None: none), the version, sun mode, and how
    many of the phones' entries are to settle.

    `drafts_of` is the name under which the device keeps what this login has not saved. `worker` is the
    address of the service worker; while the program is worked on it has none, as its files change under one
    name.
    """
    user = getattr(request, "user", None)
    logged_in = user is not None and user.is_authenticated
    looks = logged_in and HEADER not in request.headers  # a page that is kept would soon tell a wrong number
    return {
        "worker": reverse("phone-worker") if logged_in and not settings.DEBUG else "",
        "theme_color": color("iron"),
        "drafts_of": device_name(user) if logged_in else "",
        "profile": Profile.for_request(request),
        "today_fixed": settings.TODAY,
        "version": settings.VERSION,
        "to_settle": SimpleLazyObject(PhoneEntry.objects.to_settle().count) if looks else 0,
        "sun": request.COOKIES.get("sun") == "yes",
    }
