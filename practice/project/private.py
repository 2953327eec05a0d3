"""What a browser may keep: nothing of a page, and a paper only to ask whether it is still right."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils.cache import patch_cache_control

# A paper is large and seldom changes; Django's ConditionalGetMiddleware gives it an ETag and answers 304.
PAPERS = ("application/pdf", "image/jpeg")


def keep_private(get_response: Callable) -> Callable:
    """Say of each answer that no one else may keep it, and that a browser forgets all but papers.

    A view that says something stricter keeps its word. Static files never get here.
    """

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if not response.has_header("Cache-Control"):
            is_paper = response.headers.get("Content-Type", "").split(";")[0] in PAPERS
            kept = {"no_cache": True} if is_paper else {"no_store": True}
            patch_cache_control(response, private=True, **kept)
        return response

    return answer
