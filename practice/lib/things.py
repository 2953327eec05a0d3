"""The plain pages of a thing: a form that saves it, a list of it. Views stay a few lines each."""

from collections.abc import Callable
from uuid import UUID

from django.contrib import messages
from django.db import transaction
from django.db.models import Model
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from practice.lib.addresses import search_words
from practice.lib.downloads import file_asked_for
from practice.lib.errors import RuleBroken
from practice.lib.pages import render_page
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.rows import Identified
from practice.lib.tables import BookTable
from practice.lib.today import today

PER_PAGE = 50
GONE = "This was deleted while you had it open, so it cannot be saved. What you typed is still below."


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

    A broken rule is shown above the form, and what was typed stays. A form with a `row` saves nothing over
    what someone else changed since it was opened; what is odd is asked first. `back` is the way back: its
    address and its name. With a `refusal` in the context there is nothing to press: the page says why.
    """
    form, saved = make_form(profile=Profile.for_request(request)), None
    if request.method == "POST":
        form, saved = save_form(request, make_form, form.row, save)
    if saved:
        [row] = saved
        messages.success(request, message(row) if callable(message) else message)
        target = then(row) if callable(then) else then
        return redirect(target or back[0])
    context |= {"form": form, "heading": heading, "back_url": back[0], "back_to": back[1]}
    return render(request, template, context)


def save_form(
    request: HttpRequest, make_form: Callable, row: Model | None, save: Callable | None = None
) -> tuple[Form, list | None]:
    """Save what was posted, with the row locked from reading its values on; return the form and [the result].

    None instead of a result: nothing is saved, and the form says why. `make_form` reads `row`, which is
    brought up to date under the lock, so that what it shows is what is saved now.
    """
    with transaction.atomic():
        is_gone = not lock(row)
        form = make_form(request.POST, request.FILES, profile=Profile.for_request(request))
        if is_gone:
            form.add_error(None, GONE)
        uuid = row_uuid(request)
        if known := added_before(form, uuid):
            return form, [known]
        if not form.may_be_saved():
            return form, None
        try:
            with transaction.atomic():
                return form, [save(form) if save else save_row(form, uuid)]
        except RuleBroken as error:
            form.refuse(str(error))
            return form, None


def added_before(form: Form, uuid: UUID | None) -> Model | None:
    """Return the row that a form added when it was sent before; None where it adds one now, or changes one.

    A `Press` says so as a rule. A book that was imported has none, but its rows have their UUIDs.
    """
    row = getattr(form, "instance", None)
    is_new = uuid and isinstance(row, Identified) and row._state.adding
    return type(row).objects.filter(uuid=uuid).first() if is_new else None


def save_row(form: Form, uuid: UUID | None) -> Model:
    """Save the row of a form and return it; a new one takes the UUID."""
    row = form.instance
    if uuid and isinstance(row, Identified) and row._state.adding:
        row.uuid = uuid
    return form.save()


def lock(row: Model | None) -> bool:
    """Lock a row until the transaction ends and bring it up to date; return whether it is still there."""
    if row is None:
        return True
    try:
        row.refresh_from_db(from_queryset=type(row)._base_manager.select_for_update())
    except type(row).DoesNotExist:
        return False
    return True


def list_page(request: HttpRequest, table: BookTable, template: str, **context) -> HttpResponse:
    """Show a list: ordered and paged by the address, and the list alone where htmx asks for it.

    Where the address asks for one of the table's downloads, the answer is that file.

    `search` in the context is what the list's search field says.
    """
    table.profile, table.on = Profile.for_request(request), today()
    table.searched = search_words(request)
    if table.searched:
        table.empty_text = table.nothing_found.format(table.searched)
    table.request = request
    if orders := request.GET.getlist(table.prefixed_order_by_field):
        table.order_by = orders
    if file := file_asked_for(request, table.downloads, table.data.data, table.profile, table.on):
        return file
    table.paginate(per_page=PER_PAGE)
    table.page = table.paginator.get_page(request.GET.get(table.prefixed_page_field))
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
