"""The pages that bring in a whole book: its folder of CSV files as one ZIP."""

from functools import partial
from pathlib import Path
from uuid import UUID

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from practice.lib import formats
from practice.lib.errors import RuleBroken
from practice.lib.figures import FigureRow, FigureTable
from practice.lib.pages import GET_OR_POST
from practice.lib.profile import Profile
from practice.lib.things import form_page
from practice.lib.today import today
from practice.project.bring_in.forms import UploadForm
from practice.project.bring_in.views import gone, refuse_demo
from practice.project.bring_in.zips import delete_folder, folder_of, keep_folder

MOST_SHOWN = 200
LEAD = (
    "A folder of CSV files, as Roundbook exports it, packed into one ZIP file. Its columns have fixed"
    " names. Photos and the logo are in a folder named files."
)


@GET_OR_POST
def choose_zip(request: HttpRequest) -> HttpResponse:
    """The choice of a ZIP file."""
    profile = Profile.for_request(request)
    return form_page(
        request,
        partial(UploadForm, accept=".zip", words="A ZIP file of up to 12 MB."),
        heading="Bring in a whole book",
        lead=LEAD,
        back=(reverse("bring-in"), "Bring in"),
        save=lambda form: _keep(form, profile),
        then=lambda key: reverse("bring-in-book-check", args=[key]),
        message="The file was read. Nothing is in the book yet.",
    )


def _keep(form: UploadForm, profile: Profile) -> UUID:
    refuse_demo(profile)
    return keep_folder(form.content())


@require_GET
def check_book(request: HttpRequest, folder: UUID) -> HttpResponse:
    """What is wrong with the folder, or what it comes to. Nothing is changed."""
    from practice.project.book.importer import import_book

    path = folder_of(folder)
    if path is None:
        return gone(request)
    try:
        report = import_book(path, check=True, today=today())
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect("bring-in-book")
    errors = [str(problem) for problem in report.problems]
    context = {
        "folder": folder,
        "errors": errors[:MOST_SHOWN],
        "more": max(0, len(errors) - MOST_SHOWN),
        "answer": f"{formats.counted(len(errors), 'error')}. Nothing was changed."
        if errors
        else "Ready to bring in.",
        "table": _counts(report.files),
        "warnings": [str(problem) for problem in report.warnings[:MOST_SHOWN]],
    }
    return render(request, "bring_in/book.html", context)


def _counts(files: list[dict]) -> FigureTable:
    rows = [
        FigureRow(row["file"], tuple(f"{row[name]:,}" for name in ("new", "updated", "known")))
        for row in files
    ]
    return FigureTable(("File", "New", "Changed", "In the book"), tuple(rows))


@require_POST
def bring_in_book(request: HttpRequest, folder: UUID) -> HttpResponse:
    """Bring in the folder: all of it or nothing."""
    from practice.project.book.importer import import_book

    path = folder_of(folder)
    if path is None:
        return gone(request)
    try:
        report = import_book(path, today=today())
        if report.problems:
            raise RuleBroken("not_ready", "Something changed since you looked. Nothing was brought in.")
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect("bring-in-book-check", folder)
    rows = sum(row["new"] + row["updated"] for row in report.files)
    _delete_when_saved(path)
    messages.success(request, f"Brought in. {formats.counted(rows, 'row')} added or changed.")
    return redirect("home")


@require_POST
def discard_book(request: HttpRequest, folder: UUID) -> HttpResponse:
    """Throw the folder away; nothing of it is in the book."""
    path = folder_of(folder)
    if path is None:
        return gone(request)
    _delete_when_saved(path)
    messages.success(request, "The file was discarded. Nothing in it was added to the book.")
    return redirect("bring-in-book")


def _delete_when_saved(path: Path) -> None:
    transaction.on_commit(partial(delete_folder, path))
