"""The pages from the demo to a book of one's own."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from practice.lib.errors import RuleBroken
from practice.lib.pages import GET_OR_POST
from practice.lib.profile import Profile
from practice.project.begin.own_book import begin_own_book


@GET_OR_POST
def own_book(request: HttpRequest) -> HttpResponse:
    """What becomes of the demo practice when one's own book begins, and the button that does it."""
    if not Profile.for_request(request).is_demo:
        return redirect("home")
    if request.method == "GET":
        return render(request, "begin/own_book.html")
    try:
        copy = begin_own_book()
    except RuleBroken as error:
        messages.error(request, str(error))
    else:
        kept = (
            f" The demo is backed up in the data folder: {copy.relative_to(settings.DATA_DIR)}."
            if copy
            else ""
        )
        messages.success(request, f"This is your own book now.{kept}")
    return redirect("home")
