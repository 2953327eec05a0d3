"""The UUID of each form on a page: sent twice, it is saved once (practice/project/sent_forms.py)."""

import uuid
from collections.abc import Callable

from django.http import HttpRequest

FIELD = "uuid"


def new_press() -> str:
    """Return a UUID for a form on a page, as 32 hexadecimal digits."""
    return uuid.uuid4().hex


def posted_press(request: HttpRequest) -> uuid.UUID | None:
    """Return the UUID of the form that was sent; None where it came without one."""
    try:
        return uuid.UUID(request.POST.get(FIELD, "")) if request.method == "POST" else None
    except ValueError:
        return None


def row_uuid(request: HttpRequest) -> uuid.UUID | None:
    """Return the UUID for the row that a form adds: that of the form, unless one was saved with it before."""
    return getattr(request, "row_uuid", None)


def answers_anew(view: Callable) -> Callable:
    """Mark a view that may be sent twice: it adds nothing, and its answer is not where it leads to."""
    view.answers_anew = True
    return view
