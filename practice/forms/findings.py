"""Forms of findings: a sign as seen, who was told of one, and the signs to choose from."""

from datetime import timedelta

from django import forms
from django.utils import timezone
from django.utils.text import capfirst

from practice.forms.photos import PhotosField
from practice.lib.forms import BookForm, BookModelForm
from practice.lib.periods import FIRST_DAY
from practice.models import Finding, Foot, Sign, Zone
from practice.reports.hoof import PIECES, FootDrawing, drawn
from practice.reports.signs import is_for_vet, signs_to_choose
from practice.rules.signs import MARKED

# A phone's clock may be ahead of the book's by this much.
CLOCK_AHEAD = timedelta(days=1)


class NamedChoices(forms.RadioSelect):
    """Choices to tap, each named by its word alone; those in `for_vet` are known to the stylesheet."""

    for_vet: frozenset[str] = frozenset()

    def create_option(self, name, value, *args, **kwargs):
        option = super().create_option(name, value, *args, **kwargs)
        attrs = option["attrs"]
        attrs["aria-labelledby"] = f"{attrs['id']}_word"
        if value in self.for_vet:
            attrs["data-vet"] = True
        return option


class ToldAtField(forms.DateTimeField):
    """When somebody was told, in the practice's time zone."""

    short = True
    widget = forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local"})

    def __init__(self, **kwargs):
        super().__init__(required=False, label="When", help_text="Blank: the moment you save it.", **kwargs)
        self.error_messages["invalid"] = "Type a day and a time, such as 2026-10-14 10:50."

    def prepare_value(self, value):
        value = super().prepare_value(value)
        return f"{value:%Y-%m-%dT%H:%M}" if hasattr(value, "hour") else value


class ToldFields:
    """What the forms share that say when somebody was told."""

    def clean_told_at(self):
        at = self.cleaned_data["told_at"]
        if at and timezone.localdate(at) < FIRST_DAY:
            raise forms.ValidationError(f"This day is too long ago. Type {FIRST_DAY.isoformat()} or later.")
        if at and timezone.localdate(at) > self.profile.today + CLOCK_AHEAD:
            raise forms.ValidationError("This time is still ahead. Type when you told them.", code="ahead")
        return at


class ToldForm(ToldFields, BookForm):
    """Who was told of a finding, and when."""

    told_who = forms.CharField(max_length=200, label="Who was told")
    told_at = ToldAtField()


class FindingForm(ToldFields, BookModelForm):
    """A sign as seen: one of the practice's list, or anything in the farrier's own words.

    A sign that was renamed or archived since the page was opened is kept by the name that it was chosen by.
    """

    foot = forms.ChoiceField(
        label="Which foot?", choices=[*Foot.choices, ("all", "All feet")], widget=NamedChoices
    )
    zone = forms.ChoiceField(label="Where on it?", choices=Zone.choices, widget=NamedChoices)
    kind = forms.CharField(required=False, max_length=200, label="What did you see?", widget=NamedChoices)
    other_kind = forms.CharField(required=False, max_length=200, label="Something else, in your words")
    marked = forms.CharField(required=False, max_length=60, label="How bad is it?", widget=NamedChoices)
    other_marked = forms.CharField(required=False, max_length=60, label="Or in your words")
    told_who = forms.CharField(required=False, max_length=200, label="Who was told")
    told_at = ToldAtField()
    photos = PhotosField()

    class Meta:
        model = Finding
        fields = ["foot", "zone", "kind", "marked", "note", "refer_to_vet", "told_who", "told_at"]
        labels = {"refer_to_vet": "Call the veterinarian about it"}
        widgets = {"note": forms.Textarea}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        signs = signs_to_choose()
        self._offer("kind", [(sign.name, capfirst(sign.name)) for sign in signs])
        self._offer("marked", [("", "Not said"), *((word, word.capitalize()) for word in MARKED)])
        self.fields["kind"].widget.for_vet = frozenset(sign.name for sign in signs if sign.for_vet)
        self.fields["foot"].error_messages["required"] = "Choose the foot."
        self.fields["zone"].error_messages["required"] = "Choose where on the foot."

    def _offer(self, name: str, choices: list[tuple[str, str]]) -> None:
        """Give a field its choices; what the row has beside them is in its own words."""
        self.fields[name].widget.choices = choices
        own = getattr(self.instance, name)
        if own not in dict(choices):
            self.initial |= {name: "", f"other_{name}": own}

    @property
    def drawings(self) -> list[tuple[FootDrawing, list[tuple[str, bool, str]]]]:
        """Each foot with all zones to mark, and the pieces to tap: each with its side and its choice's id."""
        ids = {option.data["value"]: option.id_for_label for option in self["zone"]}
        pieces = [(row.piece, row.is_mirrored, ids[row.zone]) for row in PIECES]
        return [(drawn(foot, Zone.values), pieces) for foot in Foot.values]

    @property
    def whole_foot(self) -> str:
        """The id of the choice that is the whole foot."""
        return next(option.id_for_label for option in self["zone"] if option.data["value"] == Zone.WHOLE_FOOT)

    def clean(self):
        data = super().clean()
        for name in ("kind", "marked"):
            data[name] = data.pop(f"other_{name}", "") or data.get(name, "")
        if not data["kind"] and "kind" not in self.errors:
            self.add_error("kind", "Choose what you saw, or write it below the list.")
        if data.get("told_at") and not data.get("told_who") and "told_who" not in self.errors:
            self.add_error("told_who", "Type who was told, or clear the time.")
        data["refer_to_vet"] = data.get("refer_to_vet", False) or is_for_vet(data.get("kind", ""))
        return data


class SignForm(BookModelForm):
    ranges = {"position": (0, 999)}

    class Meta:
        model = Sign
        fields = ["name", "for_vet", "position", "archived"]
        labels = {
            "name": "What is seen",
            "for_vet": "Call the veterinarian",
            "position": "Place in the list",
            "archived": "No longer offered",
        }
        help_texts = {
            "name": "A sign as seen, such as red sole; never a diagnosis. Findings keep the name they were"
            " recorded by.",
            "for_vet": "Whoever records it is told to call, and it is shown until it is marked as seen to.",
            "position": "Leave blank to put it at the end.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["position"].required = False

    def clean_position(self):
        return self.cleaned_data["position"] or 0
