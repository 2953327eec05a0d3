"""Forms of photos and of the paper that shows them, and the field that takes some of them in any form."""

from django import forms

from practice.lib.form_fields import RowsField
from practice.lib.forms import BookForm, BookModelForm, PastDayField
from practice.lib.pictures import LARGEST, clean_photo
from practice.models import Horse, Photo
from practice.papers.horse_record import MOST_PHOTOS
from practice.reports.photos import ShownPhoto

MOST_AT_ONCE = 8


class PhotosInput(forms.FileInput):
    """Taken or chosen; `static/js/photos.js` makes them smaller before they are sent."""

    allow_multiple_selected = True

    def __init__(self, attrs: dict | None = None):
        super().__init__({"accept": "image/*", "data-photos": ""} | (attrs or {}))


class PhotosField(forms.FileField):
    """Photos as `clean_photo` keeps them, in the order in which they were chosen."""

    widget = PhotosInput

    def __init__(self, *, required: bool = False, label: str = "Photos", **kwargs):
        kwargs.setdefault("help_text", f"Up to {MOST_AT_ONCE} at once. Where a photo was taken is not kept.")
        super().__init__(required=required, label=label, **kwargs)

    def clean(self, data, initial=None) -> list[bytes]:
        uploads = [upload for upload in data or [] if upload]
        if self.required and not uploads:
            raise forms.ValidationError("Take or choose a photo.", code="required")
        if len(uploads) > MOST_AT_ONCE:
            raise forms.ValidationError(f"Choose at most {MOST_AT_ONCE} photos at once.", code="too_many")
        return [_clean(upload) for upload in uploads]


def _clean(upload) -> bytes:
    try:
        return clean_photo(upload.read(LARGEST + 1))
    except ValueError as error:
        raise forms.ValidationError(f"{upload.name}: {error}", code="photo") from None


class PhotosForm(BookForm):
    """Photos of a horse to add."""

    photos = PhotosField(required=True)
    what = forms.ChoiceField(choices=Photo.What.choices, label="What they show", initial=Photo.What.HOOF)
    taken_on = PastDayField(label="Taken on")
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea)


class PhotoForm(BookModelForm):
    """What is said of a photo."""

    class Meta:
        model = Photo
        fields = ["what", "taken_on", "note"]
        labels = {"what": "What it shows", "taken_on": "Taken on"}
        field_classes = {"taken_on": PastDayField}


class HorseRecordForm(BookForm):
    """What goes on a horse's record on paper."""

    photos = RowsField(
        Photo.objects.none(), required=False, label="Photos", widget=forms.CheckboxSelectMultiple
    )
    with_owners = forms.BooleanField(required=False, label="With the names of the owners")

    def __init__(self, *args, horse: Horse, **kwargs):
        super().__init__(*args, **kwargs)
        photos = self.fields["photos"]
        photos.queryset = horse.photos.exclude(file="").order_by("-taken_on", "-pk")
        photos.label_from_instance = lambda photo: ShownPhoto(photo, self.profile).alt
        photos.help_text = f"At most {MOST_PHOTOS}."
        if not photos.queryset.exists():
            del self.fields["photos"]

    def clean_photos(self):
        photos = list(self.cleaned_data["photos"])
        if len(photos) > MOST_PHOTOS:
            raise forms.ValidationError(f"Choose at most {MOST_PHOTOS}.", code="too_many")
        return photos
