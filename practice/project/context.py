"""What every page is given."""

from django.conf import settings
from django.utils.crypto import salted_hmac

from practice.lib.profile import Profile


def roundbook(request) -> dict:
    """Return the practice, the date that the environment fixes (None: none), the version, sun mode.

    `drafts_of` is the name under which the device keeps what this login has not saved. It is another one
    for each login and each book, since several may be served under one address in the course of time.
    """
    user = getattr(request, "user", None)
    logged_in = user is not None and user.is_authenticated
    return {
        "drafts_of": salted_hmac("drafts", str(user.pk)).hexdigest()[:16] if logged_in else "",
        "profile": Profile.for_request(request),
        "today_fixed": settings.TODAY,
        "version": settings.VERSION,
        "sun": request.COOKIES.get("sun") == "yes",
    }
