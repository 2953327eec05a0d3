"""Cookies by the way a request came: Secure and bound to their host over https, plain on this machine.

One process serves both: http on 127.0.0.1, and https to phones. Browsers keep cookies by host, not by port,
so the two also have different names; over https nobody but this host can have set them.
"""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

PREFIX = "__Host-"


def secure_cookies(get_response: Callable) -> Callable:
    """Give what came over https its cookies under the names that the rest of the program knows.

    Where ROUNDBOOK_HTTPS is set, all come over https, and the settings say the same.
    """

    def answer(request: HttpRequest) -> HttpResponse:
        if settings.HTTPS or not request.is_secure():
            return get_response(request)
        ours = (settings.SESSION_COOKIE_NAME, settings.CSRF_COOKIE_NAME)
        sent = request.COOKIES
        kept = {name: value for name, value in sent.items() if name not in ours}
        request.COOKIES = kept | {name: sent[PREFIX + name] for name in ours if PREFIX + name in sent}
        response = get_response(request)
        for name in ours:
            if morsel := response.cookies.pop(name, None):
                response.cookies[PREFIX + name] = morsel.value
                response.cookies[PREFIX + name].update(morsel)
        for morsel in response.cookies.values():
            morsel["secure"] = True
        return response

    return answer
