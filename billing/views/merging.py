"""Entered twice: choose the other entry, look at what would move, make one of the two; and undo that."""

from collections.abc import Callable
from functools import partial

from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from billing.actions.merge_rules import RULES
from billing.actions.merging import merge, undo_merge
from billing.reports.merge_page import may_be_the_same, merge_preview
from practice.lib.addresses import id_of, search_words
from practice.lib.forms import BookForm
from practice.lib.merges import Merge
from practice.lib.pages import GET_OR_POST
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import now, today

HERE = {"item": "truck"}


def merge_address(kept: Model, other: Model | None = None) -> str:
    """Return the page on which another entry goes into this one."""
    address = reverse(f"billing:{kept._meta.model_name}-merge", args=[kept.pk])
    return f"{address}?other={other.pk}" if other else address


def merge_page(model: type[Model]) -> Callable:
    """Return the view of a model: the choice of the other entry, or with `other` what would come of it."""

    @GET_OR_POST
    def view(request: HttpRequest, pk: int) -> HttpResponse:
        kept = get_object_or_404(model, pk=pk)
        if "other" not in request.GET:
            return choose(request, kept)
        taken = get_object_or_404(model, pk=id_of(request.GET["other"]))
        return confirm(request, kept, taken)

    return view


def choose(request: HttpRequest, kept: Model) -> HttpResponse:
    """Find the other entry by its name."""
    context = {
        "kept": kept,
        "heading": f"Which other entry is also {kept}?",
        "rows": may_be_the_same(kept, search_words(request), partial(merge_address, kept)),
        "back_url": kept.get_absolute_url(),
        "here": HERE.get(kept._meta.model_name, "horses"),
    }
    return render(request, "billing/merging/choose.html", context)


def confirm(request: HttpRequest, kept: Model, taken: Model) -> HttpResponse:
    """Show what would move, and make one of the two on a press."""
    profile, by = Profile.for_request(request), request.user.get_username()
    preview = merge_preview(kept, taken, today(), profile)
    return form_page(
        request,
        BookForm,
        heading=f"Are {taken} and {kept} the same?",
        lead=f"{kept} stays and gets everything recorded of the other entry, which is then deleted. Invoices"
        " keep the names and addresses printed on them. You can undo this today.",
        back=(merge_address(kept), "Choose another"),
        save=lambda form: merge(kept, taken, by=by, at=now(), today=today()),
        then=kept.get_absolute_url(),
        message=f"The two entries for {kept} are now one.",
        template="billing/merging/confirm.html",
        save_label="Merge",
        preview=preview,
        refusal=preview.refusal,
        way_out="Choose another" if preview.refusal else "Cancel",
        other_way=merge_address(taken, kept),
    )


@require_POST
def merge_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Bring back the entry that was merged into another one today."""
    record = get_object_or_404(Merge, pk=pk)
    kept = RULES[record.kind].model.objects.filter(pk=record.kept_pk).first()
    if kept is None:
        return redirect("home")
    message, then = f"{record.name} is an entry of its own again.", kept.get_absolute_url()
    return do(request, undo_merge, record, at=now(), today=today(), message=message, then=then)
