"""Photos of horses: shown, added, described, deleted."""

from functools import partial

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from practice.actions.photos import add_photos, photo_file, remove_photos
from practice.forms.photos import PhotoForm, PhotosForm
from practice.lib.forms import BookForm
from practice.lib.pages import GET_OR_POST
from practice.lib.pictures import clean_picture
from practice.lib.presses import row_uuid
from practice.lib.profile import Profile
from practice.lib.things import form_page
from practice.lib.today import today
from practice.models import Horse, Photo
from practice.reports.photos import ShownPhoto, photos_of

SMALL = 400


@require_GET
def horse_photos(request: HttpRequest, pk: int) -> HttpResponse:
    """All photos of a horse."""
    horse = get_object_or_404(Horse, pk=pk)
    photos = photos_of(horse, Profile.for_request(request), limit=None)
    return render(request, "practice/photos/list.html", {"photos": photos, "here": "horses"})


@GET_OR_POST
def photo_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add photos of a horse."""
    horse = get_object_or_404(Horse, pk=pk)

    def save(form: PhotosForm) -> list[Photo]:
        given = form.cleaned_data
        words = {"what": given["what"], "note": given["note"]}
        return add_photos(horse, given["photos"], given["taken_on"], uuid=row_uuid(request), **words)

    return form_page(
        request,
        partial(PhotosForm, initial={"taken_on": today()}),
        heading=f"Photos of {horse}",
        back=(horse.get_absolute_url(), str(horse)),
        save=save,
    )


@GET_OR_POST
def photo_change(request: HttpRequest, pk: int) -> HttpResponse:
    """A photo with what is said of it."""
    photo = get_object_or_404(Photo.objects.select_related("horse"), pk=pk)
    return form_page(
        request,
        partial(PhotoForm, instance=photo),
        heading=f"Photo of {photo.horse}",
        back=(photo.horse.get_absolute_url(), str(photo.horse)),
        template="practice/photos/form.html",
        photo=ShownPhoto(photo, Profile.for_request(request)),
    )


@GET_OR_POST
def photo_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask once, then delete a photo."""
    photo = get_object_or_404(Photo.objects.select_related("horse"), pk=pk)
    return form_page(
        request,
        BookForm,
        heading="Delete this photo?",
        lead="It cannot be brought back, except from a backup.",
        back=(photo.get_absolute_url(), "Photo"),
        save=lambda form: [remove_photos([photo])],
        save_label="Delete the photo",
        then=photo.horse.get_absolute_url(),
        message="Photo deleted.",
        template="practice/photos/remove.html",
        photo=ShownPhoto(photo, Profile.for_request(request)),
    )


@require_GET
def horse_photo(request: HttpRequest, pk: int) -> HttpResponse:
    """The picture itself."""
    return HttpResponse(_content(pk), content_type="image/jpeg")


@require_GET
def small_photo(request: HttpRequest, pk: int) -> HttpResponse:
    """The picture in the size of a list."""
    return HttpResponse(clean_picture(_content(pk), SMALL), content_type="image/jpeg")


def _content(pk: int) -> bytes:
    """Return a photo's file. Raises Http404 where it is gone."""
    photo = get_object_or_404(Photo.objects.exclude(file=""), pk=pk)
    try:
        return photo_file(photo.file).read_bytes()
    except OSError:
        raise Http404 from None
