"""The pages that bring a spreadsheet in: the file, its columns, what is wrong with it, what it comes to."""

from functools import partial
from uuid import UUID

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from practice.lib.downloads import KINDS as CONTENT_TYPES
from practice.lib.downloads import XLSX
from practice.lib.errors import RuleBroken
from practice.lib.pages import GET_OR_POST
from practice.lib.profile import Profile
from practice.lib.things import form_page
from practice.lib.today import today
from practice.project.bring_in.forms import ColumnsForm, SheetChoiceForm, UploadForm
from practice.project.bring_in.kinds import KINDS
from practice.project.bring_in.meanings import SheetKind
from practice.project.bring_in.mending import MOST_SHOWN, mend, rows_to_mend
from practice.project.bring_in.uploads import Upload, new_upload, upload_of

GONE = "This file was brought in already or is more than a day old. Choose it again."


def _kind(code: str) -> SheetKind:
    if code not in KINDS:
        raise Http404
    return KINDS[code]


@require_GET
def start(request: HttpRequest) -> HttpResponse:
    """What can be brought in."""
    return render(request, "bring_in/start.html", {"kinds": KINDS.values(), "here": "horses"})


@GET_OR_POST
def choose_file(request: HttpRequest, what: str) -> HttpResponse:
    """The choice of a file, with the columns that are known."""
    kind, profile = _kind(what), Profile.for_request(request)
    return form_page(
        request,
        UploadForm,
        heading=kind.title,
        lead=kind.lead,
        back=(reverse("bring-in"), "Bring in"),
        save=lambda form: _keep(form, kind, profile),
        then=lambda upload: _url("columns", upload),
        message="The file was read. Nothing is in the book yet.",
        template="bring_in/file.html",
        kind=kind,
    )


def _keep(form: UploadForm, kind: SheetKind, profile: Profile) -> Upload:
    from practice.project.bring_in.sheets import read_sheets

    refuse_demo(profile)
    sheets = read_sheets(form.content(), profile.locale)
    return new_upload(kind, form.cleaned_data["file"].name, sheets)


def refuse_demo(profile: Profile) -> None:
    """Raise RuleBroken("demo_practice") where the book is the demo."""
    if profile.is_demo:
        raise RuleBroken(
            "demo_practice",
            "This book is the demo practice. Begin your own book first, so that the two do not mix.",
        )


@require_GET
def template_file(request: HttpRequest, what: str) -> HttpResponse:
    """The template of a kind of sheet."""
    from practice.project.bring_in.templates_of_sheets import template_of

    kind = _kind(what)
    content = template_of(kind, Profile.for_request(request))
    response = HttpResponse(content, content_type=CONTENT_TYPES[XLSX])
    response["Content-Disposition"] = f'attachment; filename="{kind.code}.xlsx"'
    return response


@GET_OR_POST
def choose_columns(request: HttpRequest, upload: UUID) -> HttpResponse:
    """What each column of the file means."""
    kept = upload_of(upload)
    if kept is None:
        return gone(request)
    return form_page(
        request,
        partial(ColumnsForm, upload=kept),
        heading="What is in each column?",
        back=(reverse("bring-in-file", args=[kept.kind.code]), kept.kind.title),
        save=_save_columns,
        then=lambda step: _url(step, kept),
        message="Columns saved.",
        template="bring_in/columns.html",
        upload=kept,
    )


def _save_columns(form: ColumnsForm) -> str:
    """Save what the columns mean; return where it goes on: to them again where the headings were moved."""
    before = form.upload.heading_row
    return "columns" if form.save().heading_row != before else "check"


@GET_OR_POST
def choose_sheet(request: HttpRequest, upload: UUID) -> HttpResponse:
    """Which sheet of several is brought in."""
    kept = upload_of(upload)
    if kept is None:
        return gone(request)

    def save(form: SheetChoiceForm) -> Upload:
        kept.choose_sheet(int(form.cleaned_data["sheet"]))
        kept.save()
        return kept

    return form_page(
        request,
        partial(SheetChoiceForm, upload=kept),
        heading="Which sheet?",
        back=(_url("columns", kept), "Columns"),
        save=save,
        message="Sheet chosen.",
    )


@GET_OR_POST
def check(request: HttpRequest, upload: UUID) -> HttpResponse:
    """What is wrong with the cells, to be mended right here; where nothing is, what the file comes to."""
    from practice.project.bring_in.outlook import look_ahead

    kept = upload_of(upload)
    if kept is None:
        return gone(request)
    if request.method == "POST":
        mend(kept, request.POST)
        return redirect(_url("check", kept))
    outlook = look_ahead(kept, Profile.for_request(request), today())
    context = {
        "outlook": outlook,
        "upload": kept,
        "rows": rows_to_mend(outlook),
        "more_rows": max(0, len(outlook.problems) - MOST_SHOWN),
    }
    template = "bring_in/ready.html" if outlook.is_ready else "bring_in/mend.html"
    return render(request, template, context)


@require_POST
def put_back(request: HttpRequest, upload: UUID) -> HttpResponse:
    """Take the rows that were left out back in."""
    kept = upload_of(upload)
    if kept is None:
        return gone(request)
    kept.left_out = set()
    kept.save()
    return redirect(_url("check", kept))


@require_POST
def bring_in_now(request: HttpRequest, upload: UUID) -> HttpResponse:
    """Bring in the file: all of it or nothing."""
    from practice.project.bring_in.outlook import bring_in

    kept = upload_of(upload)
    if kept is None:
        return gone(request)
    try:
        said = bring_in(kept, Profile.for_request(request), today())
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect(_url("check", kept))
    transaction.on_commit(kept.delete)
    messages.success(request, f"Brought in. {said}")
    return redirect(kept.kind.then)


@require_POST
def discard(request: HttpRequest, upload: UUID) -> HttpResponse:
    """Throw the file away; nothing of it is in the book."""
    kept = upload_of(upload)
    if kept is None:
        return gone(request)
    transaction.on_commit(kept.delete)
    messages.success(request, "The file was discarded. Nothing in it was added to the book.")
    return redirect("bring-in-file", kept.kind.code)


def _url(step: str, upload: Upload) -> str:
    return reverse(f"bring-in-{step}", args=[upload.key])


def gone(request: HttpRequest) -> HttpResponse:
    messages.info(request, GONE)
    return redirect("bring-in")
