"""The plain pages of a thing: a form that saves it, a list of it. Views stay a few lines each."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django_tables2 import RequestConfig

from practice.lib.errors import RuleBroken
from practice.lib.pages import render_page, search_words
from practice.lib.profile import Profile
from practice.lib.tables import BookTable

PER_PAGE = 50


def form_page(
    request: HttpRequest,
    make_form: Callable,
    *,
    heading: str,
    back: tuple[str, str],
    save: Callable | None = None,
    then: str | Callable | None = None,
    message: str | Callable = "Saved.",
    template: str = "parts/form_page.html",
    **context,
) -> HttpResponse:
    """Show a form and save what was typed. `make_form(*data, profile=...)`; `save(form)` gives the row;
    `then` and `message` may be worked out from it.

    A broken rule is shown above the form, and what was typed stays. `back` is the way back: its address
    and its name.
    """
    profile = Profile.for_request(request)
    data = (request.POST, request.FILES) if request.method == "POST" else ()
    form = make_form(*data, profile=profile)
    if request.method == "POST" and form.is_valid():
        try:
            row = save(form) if save else form.save()
        except RuleBroken as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, message(row) if callable(message) else message)
            target = then(row) if callable(then) else then
            return redirect(target or back[0])
    context |= {"form": form, "heading": heading, "back_url": back[0], "back_to": back[1]}
    return render(request, template, context)


def list_page(request: HttpRequest, table: BookTable, template: str, **context) -> HttpResponse:
    """Show a list: ordered and paged by the address, and the list alone where htmx asks for it.

    `search` in the context is what the list's search field says.
    """
    table.profile = Profile.for_request(request)
    table.searched = search_words(request)
    if table.searched:
        table.empty_text = table.nothing_found.format(table.searched)
    RequestConfig(request, paginate={"per_page": PER_PAGE}).configure(table)
    if table.paginator.per_page != PER_PAGE:
        table.paginate(page=1, per_page=PER_PAGE)
    typed_anew = ("q", "page")
    choices = [(name, value) for name, value in request.GET.items() if name not in typed_anew]
    context |= {"table": table, "choices": choices}
    return render_page(request, template, context, partial="parts/list.html")


def do(request: HttpRequest, action: Callable, *args, message: str, then: str, **kwargs) -> HttpResponse:
    """Do an action of a button and go on; a broken rule is reported on the next page."""
    try:
        action(*args, **kwargs)
    except RuleBroken as error:
        messages.error(request, str(error))
    else:
        messages.success(request, message)
    return redirect(then)
