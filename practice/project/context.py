"""What every page is given."""

from django.conf import settings

from practice.lib.profile import Profile


def roundbook(request) -> dict:
    """Return the practice, the date that the environment fixes (None: none), and the version."""
    return {
        "profile": Profile.for_request(request),
        "today_fixed": settings.TODAY,
        "version": settings.VERSION,
        "sun": request.COOKIES.get("sun") == "yes",
    }
