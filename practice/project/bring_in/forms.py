"""The forms of bringing in: the file, and what its columns mean."""

from django import forms

from practice.lib.form_fields import PastDayField
from practice.lib.forms import BookForm
from practice.lib.profile import Profile
from practice.models import Service
from practice.project.body_limits import LARGEST
from practice.project.bring_in.last_work import USUAL_WORK
from practice.project.bring_in.rows import FROM_ABOVE, TAKEN_FROM_ABOVE
from practice.project.bring_in.translation import FILL, KEEP, REPLACE
from practice.project.bring_in.uploads import Upload

LEAVE_OUT = "Leave out"
OPTIONS = ("known", "service", "day", FROM_ABOVE)
FIRST_VALUES, LONGEST_VALUE = 3, 40


class UploadForm(BookForm):
    """The choice of a file. `accept` are the endings that the browser offers."""

    save_label = "Read the file"
    file = forms.FileField(label="File", help_text="XLSX or CSV, from any spreadsheet program.")

    def __init__(
        self, *args, profile: Profile, accept: str = ".xlsx,.csv,.txt,.tsv", words: str = "", **kwargs
    ):
        super().__init__(*args, profile=profile, **kwargs)
        file = self.fields["file"]
        file.help_text = words or file.help_text
        file.widget.attrs["accept"] = accept
        file.error_messages |= {
            "required": "Choose a file.",
            "empty": "This file is empty. Choose another one.",
        }
        file.error_messages |= {"invalid": "Choose a file.", "missing": "Choose a file."}

    def content(self) -> bytes:
        """Return what the file holds, at most what a request may send."""
        return self.cleaned_data["file"].read(LARGEST)


class ColumnsForm(BookForm):
    """What each column means, and what holds for all rows."""

    save_label = "Check the rows"
    heading_row = forms.IntegerField(
        label="The headings are in row", help_text="Change this if the wrong row was taken."
    )

    def __init__(self, *args, profile: Profile, upload: Upload, **kwargs):
        self.upload, self.kind = upload, upload.kind
        options = upload.options
        super().__init__(*args, profile=profile, **kwargs)
        self.ranges = {"heading_row": (1, len(upload.sheet.rows))}
        rows = list(upload.rows().values())
        columns = {}
        for column, heading in enumerate(upload.headings):
            values = list(dict.fromkeys(row[column] for row in rows if row[column]))[:FIRST_VALUES]
            if heading or values:
                columns[f"column_{column}"] = self._column(column, heading, values)
        self.columns = list(columns)
        self.fields = columns | self.fields
        self.fields["heading_row"].initial = upload.heading_row + 1
        if self.kind.same:
            self.fields["known"] = forms.ChoiceField(
                label=f"When a {self.kind.one} is in the book already",
                choices=[
                    (FILL, "Add what the book does not have"),
                    (REPLACE, "Replace it with what the file says"),
                    (KEEP, "Leave it as it is"),
                ],
                initial=options.get("known", FILL),
            )
        self._add_own_fields(options)
        self.fit(profile)

    def _column(self, column: int, heading: str, values: list[str]) -> forms.ChoiceField:
        choices = [("", LEAVE_OUT), *((meaning.code, meaning.label) for meaning in self.kind.meanings)]
        return forms.ChoiceField(
            label=heading[:80] or f"Column {letter_of(column)}",
            help_text="; ".join(_short(value) for value in values) or "No values",
            choices=choices,
            required=False,
            initial=self.upload.meanings.get(column, ""),
        )

    def _add_own_fields(self, options: dict[str, str]) -> None:
        if all(self.kind.has(code) for code in TAKEN_FROM_ABOVE):
            self.fields[FROM_ABOVE] = forms.ChoiceField(
                label="If the place or the owner is blank",
                choices=[("", "Leave it blank"), ("yes", "Use the one from the row above")],
                required=False,
                initial=options.get(FROM_ABOVE, ""),
            )
        if self.kind.has("last_work"):
            services = Service.objects.filter(archived=False, resets_cycle=True).order_by("name")
            names = list(dict.fromkeys(services.values_list("name", flat=True))) or [USUAL_WORK]
            self.fields["service"] = forms.ChoiceField(
                label="Work done last, if the file does not say",
                choices=[(name, name) for name in names],
                initial=options.get("service") or (USUAL_WORK if USUAL_WORK in names else names[0]),
            )
        if self.kind.has("on_hand") or self.kind.has("amount"):
            label = "Counted on" if self.kind.has("on_hand") else "Received on, if the file does not say"
            self.fields["day"] = PastDayField(label=label)

    def fit(self, profile: Profile) -> None:
        super().fit(profile)
        if "day" in self.fields:
            self.fields["day"].initial = profile.today

    @property
    def column_fields(self) -> list:
        return [self[name] for name in self.columns]

    @property
    def other_fields(self) -> list:
        return [self[name] for name in self.fields if name not in self.columns]

    def clean(self):
        data = super().clean()
        seen: dict[str, str] = {}
        for name in self.columns:
            code = data.get(name)
            if code and code in seen and self.kind.meaning(code).joined_by is None:
                self.add_error(
                    name, f"{self[seen[code]].label} is set to this already. Choose only one of them."
                )
            elif code:
                seen[code] = name
        is_moved = data.get("heading_row") not in (None, self.upload.heading_row + 1)
        for label in () if is_moved else self.kind.lacking(list(seen)):
            self.add_error(None, f"Choose the column for {label}.")
        return data

    def save(self) -> Upload:
        """Keep what was chosen with the upload, and for the next file with these headings.

        Where the headings are moved to another row, the columns are guessed anew.
        """
        upload, data = self.upload, self.cleaned_data
        if data["heading_row"] != upload.heading_row + 1:
            upload.heading_row = data["heading_row"] - 1
            upload.forget_changes()
            upload.read_headings()
        else:
            chosen = {int(name.removeprefix("column_")): data[name] for name in self.columns if data[name]}
            if chosen != upload.meanings:
                upload.forget_changes()
            upload.meanings = chosen
            upload.options = {name: str(data[name]) for name in OPTIONS if data.get(name)}
            upload.remember()
        upload.save()
        return upload


class SheetChoiceForm(BookForm):
    """Which sheet of several."""

    save_label = "Use this sheet"
    sheet = forms.ChoiceField(label="Sheet")

    def __init__(self, *args, profile: Profile, upload: Upload, **kwargs):
        super().__init__(*args, profile=profile, **kwargs)
        names = [(str(number), sheet.name) for number, sheet in enumerate(upload.sheets)]
        self.fields["sheet"].choices, self.fields["sheet"].initial = names, str(upload.at_sheet)


def _short(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= LONGEST_VALUE else f"{line[: LONGEST_VALUE - 1]}…"


def letter_of(column: int) -> str:
    """Return what a spreadsheet calls a column: A, B … Z, AA."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
