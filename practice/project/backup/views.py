"""The pages of backups: what there is, a look at one, restoring it, and the second folder."""

from functools import partial

from django import forms
from django.contrib import messages
from django.contrib.auth import get_user_model, login
from django.contrib.contenttypes.models import ContentType
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from practice.lib.errors import RuleBroken
from practice.lib.forms import BookForm
from practice.lib.pages import GET_OR_POST
from practice.lib.presses import answers_anew
from practice.lib.profile import Profile
from practice.lib.things import form_page
from practice.lib.today import now, today
from practice.project.backup.contents import FOLDER
from practice.project.backup.daily import back_up, why
from practice.project.backup.inside import rows_here
from practice.project.backup.kept import KeptCopy, backups_folder, copies_in, copy_called
from practice.project.backup.page import BackupList, BackupLook, seal_of
from practice.project.backup.reading import look_into
from practice.project.backup.restoring import IS_A_FOLDER, restore_backup
from practice.project.backup.second import MOST_LETTERS, name_second_folder
from practice.project.backup.state import backup_state
from practice.project.exits import EnvironmentProblem
from practice.project.sent_forms import in_turn

MODEL_BACKEND = "django.contrib.auth.backends.ModelBackend"


@require_GET
def backup_list(request: HttpRequest) -> HttpResponse:
    profile = Profile.for_request(request)
    page = BackupList(profile, today(), copies_in(backups_folder()), backup_state())
    return render(request, "backups/list.html", {"page": page})


@answers_anew
@require_POST
def backup_now(request: HttpRequest) -> HttpResponse:
    """Make a copy at once, whatever there is."""
    try:
        back_up(now())
    except Exception as error:  # noted in the log and for the pages
        messages.error(request, f"The backup failed. {why(error)}")
    else:
        messages.success(request, "Backed up.")
    return redirect("backup-list")


@require_GET
def backup_detail(request: HttpRequest, backup: str) -> HttpResponse:
    """A look at a copy, which is checked for it."""
    copy, profile = _copy_or_404(backup), Profile.for_request(request)
    look = partial(BackupLook, profile, today(), copy)
    try:
        contents, inside = look_into(copy.path)
        refusal = IS_A_FOLDER if contents.database == FOLDER else ""
        page = look(inside, rows_here(), version=contents.version, refusal=refusal)
    except (RuleBroken, EnvironmentProblem) as error:
        page = look(None, rows_here(), refusal=str(error))
    return render(request, "backups/detail.html", {"page": page})


@require_GET
def backup_file(request: HttpRequest, backup: str) -> FileResponse:
    copy = _copy_or_404(backup)
    return FileResponse(
        copy.path.open("rb"), as_attachment=True, filename=copy.path.name, content_type="application/zip"
    )


@answers_anew
@require_POST
def backup_restore(request: HttpRequest, backup: str) -> HttpResponse:
    """Put a copy in place of the book. Whoever did it stays logged in where the copy has their login."""
    copy, name = _copy_or_404(backup), request.user.get_username()
    if request.POST.get("seen") != seal_of(copy):
        messages.error(request, "Tick the box above the button first, then press it again.")
        return redirect("backup-detail", copy.name)
    try:
        with in_turn():
            restore_backup(copy.path, replace=True)
    except (RuleBroken, EnvironmentProblem) as error:
        messages.error(request, str(error))
        return redirect("backup-detail", copy.name)
    ContentType.objects.clear_cache()
    _log_in_again(request, name)
    messages.success(request, "Restored. The book as it was just before is kept among the backups.")
    return redirect("home")


def _log_in_again(request: HttpRequest, name: str) -> None:
    """Begin a new session: the restore ended all of them, and the login may be another row now."""
    request.session.flush()
    user = get_user_model().objects.filter(username=name, is_active=True).first()
    if user:
        login(request, user, MODEL_BACKEND)


class SecondFolderForm(BookForm):
    folder = forms.CharField(
        required=False,
        max_length=MOST_LETTERS,
        label="Second folder",
        help_text="The whole path on the computer that runs Roundbook, such as /media/usb or D:\\Backups."
        " Blank for none.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


@GET_OR_POST
def backup_folder(request: HttpRequest) -> HttpResponse:
    """Name the second folder."""
    return form_page(
        request,
        partial(SecondFolderForm, initial={"folder": backup_state().second}),
        heading="Second folder for backups",
        lead="A USB drive, another disk, or a synced folder. Each backup is also written there when it is"
        " plugged in.",
        note="Whoever has this folder can read your book. Keep it where only you can get at it.",
        back=(reverse("backup-list"), "Backups"),
        save=lambda form: name_second_folder(form.cleaned_data["folder"]),
    )


def _copy_or_404(name: str) -> KeptCopy:
    copy = copy_called(name)
    if copy is None:
        raise Http404
    return copy
