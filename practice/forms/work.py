"""The short form of a horse at a visit: each tap posts and comes back filled in; Save writes it down."""

from collections.abc import Hashable, Iterable
from dataclasses import replace
from decimal import Decimal

from django import forms

from practice.actions.work import MaterialRow, WorkRow
from practice.forms.asking_work import AskingWorkForm
from practice.lib.addresses import id_of
from practice.lib.form_fields import PriceField
from practice.lib.forms import NumberField
from practice.lib.profile import Profile
from practice.models import Foot
from practice.reports.horse_sheet import DayPrices, HorseAtVisit, HorseSheet, ItemOnSheet
from practice.rules import horse_work
from practice.rules.horse_work import FEET, FORE, HIND, HorseWork, UseLine, WorkLine, uses_of

CHANGED = {"invalid_choice": "The work on this horse changed in the meantime. Open the horse again."}
# The buttons that fill the form in; `changed` shows it as it was typed, `seen` and `unseen` mark a finding.
TAPS = ("last", "clear", "pick", "open", "off", "size", "step", "changed", "seen", "unseen")


class ChosenKeyField(forms.Field):
    """The key of a row that a button chose, kept in a hidden field; None for no row, or an unknown one."""

    widget = forms.HiddenInput

    def __init__(self):
        super().__init__(required=False)
        self.keys: Iterable[Hashable] = ()

    def to_python(self, value):
        return next((key for key in self.keys if str(key) == value), None)


def count_field(label: str, example: str = "12", **more) -> NumberField:
    return NumberField(label=label, required=False, low=Decimal(0), example=example, **more)


class HorseWorkForm(AskingWorkForm):
    """What was done to a horse, and what it took: `state` is what it shows, or what was posted.

    What was posted may be a tap (`was_tapped`): then `after_tap()` is the form to show. Else, once it is
    valid, `rows()` are what to save.
    """

    work = forms.MultipleChoiceField(required=False, widget=forms.MultipleHiddenInput)
    foot = forms.MultipleChoiceField(required=False, choices=Foot.choices)
    nails = count_field("Nails")
    as_last_time = forms.BooleanField(required=False, widget=forms.HiddenInput)
    # What feet and nails were when the form was filled in: a tap on a foot is a difference to them.
    feet_before = forms.CharField(required=False, widget=forms.HiddenInput)
    nails_before = count_field("Nails", widget=forms.HiddenInput)

    def __init__(self, *args, at: HorseAtVisit, profile: Profile, state: HorseWork | None = None):
        self.at, self.unread, self.open_foot = at, set(), ""
        self.state = at.recorded.state if state is None else state
        super().__init__(*args, profile=profile, initial=initial_of(self.state))

    def fit(self, profile: Profile) -> None:
        """Add the fields of each line of work, of each foot, and of each item."""
        self.lines = {line.key: line for line in self._lines()}
        self.fields["work"].choices = [(key, key) for key in self.lines]
        for key in self.lines:
            self.fields[f"quantity_{key}"] = count_field("Quantity", "1.5", step=Decimal("0.5"))
            self.fields[f"price_{key}"] = PriceField(
                label="Unit price, if not the list price",
                required=False,
                low=Decimal(0),
                money=True,
                example="45.00",
            )
            self.fields[f"note_{key}"] = forms.CharField(required=False, label="Note", widget=forms.Textarea)
        for name in ("nail", *(f"shoe_{foot}" for foot in FEET)):
            self.fields.setdefault(name, ChosenKeyField()).keys = self.at.items
        for item in self.at.items.values():
            # A count that was saved otherwise stays, as with nails.
            saved = self.at.recorded.state.counts.get(item.pk) or Decimal(0)
            places = 0 if item.is_counted_singly and not saved % 1 else 6
            field = self.fields[f"item_{item.pk}"] = count_field(item.name, places=places)
            field.widget.attrs |= {"aria-label": item.name, "size": 5}
        self.fields["nails"].widget.attrs["aria-label"] = "Nails"
        super().fit(profile)
        for name in ("work", "foot"):
            self.fields[name].error_messages |= CHANGED

    def _lines(self) -> list[WorkLine]:
        """The lines of work that the form has fields for: those posted, else those of its state."""
        if not self.is_bound:
            return list(self.state.work)
        keys = dict.fromkeys(self.data.getlist("work"))
        return [line for key in keys if (line := self._line_of(key)) is not None]

    def _line_of(self, key: str) -> WorkLine | None:
        service, _, number = key.partition("-")
        known = self._key(service, self.at.services)
        position = id_of(number or "1")
        return None if known is None or position is None else WorkLine(known, number=position)

    def clean_foot(self) -> tuple[str, ...]:
        return tuple(foot for foot in FEET if foot in self.cleaned_data["foot"])

    def clean_feet_before(self) -> tuple[str, ...]:
        return tuple(foot for foot in FEET if foot in self.cleaned_data["feet_before"].split())

    def clean_nails(self) -> Decimal | None:
        """Nails are whole, but for a count that was saved otherwise."""
        count = self.cleaned_data["nails"]
        if count is not None and count != int(count) and count != self.at.recorded.state.nails:
            raise forms.ValidationError("Nails are counted. Type a whole number, such as 12.")
        return count

    def clean(self):
        self.state = self._posted()
        for line in self.state.work:
            name = f"quantity_{line.key}"
            if not line.quantity and name not in self.errors:
                self.add_error(name, "Type how many, such as 1.")
        # A blank form takes away what was saved before; where nothing was, there is nothing to save.
        is_cleared = not self.uses and (self.at.recorded.state.work or self.at.recorded.uses)
        if not self.state.work and not is_cleared:
            self.add_error(None, "Tap what was done first.")
        if self.errors:
            self._follow_feet()

    def _follow_feet(self) -> None:
        """Let a form that comes back with errors show shoes and nails as the tapped feet leave them."""
        self.data = self.data.copy()
        for name, value in initial_of(self.state).items():
            if name.startswith(("shoe_", "nails", "feet_")) and name not in self.errors:
                self.data[name] = value

    def _posted(self) -> HorseWork:
        """Return the state that was posted with the feet tapped since; a field in error counts as blank."""
        data = self.cleaned_data
        before, now = data.get("feet_before", ()), data.get("foot", ())
        nails, nails_before = data.get("nails") or Decimal(0), data.get("nails_before")
        shoes = {foot: data[f"shoe_{foot}"] for foot in FEET if data.get(f"shoe_{foot}") is not None}
        state = HorseWork(
            tuple(self._posted_line(key) for key in data.get("work", ())),
            feet=before,
            shoes=shoes,
            nail=data.get("nail"),
            nails=nails if nails_before is None else nails_before,
            counts={key: count for key in self.at.items if (count := data.get(f"item_{key}"))},
        )
        for foot in FEET:
            if (foot in before) != (foot in now):
                state = self._with_foot_tapped(state, foot)
        # A count that was typed over stands, whatever was tapped beside it.
        return state if nails == nails_before else replace(state, nails=nails)

    def _posted_line(self, key: str) -> WorkLine:
        data = self.cleaned_data
        quantity = data.get(f"quantity_{key}") or Decimal(0)
        price, note = data.get(f"price_{key}"), data.get(f"note_{key}", "")
        return replace(self.lines[key], quantity=quantity, price=price, note=note)

    def _with_foot_tapped(self, state: HorseWork, foot: str) -> HorseWork:
        services = self.at.facts_of(state.services)
        return horse_work.tap_foot(state, foot, services, self.at.usual.shoeing)

    @property
    def uses(self) -> list[UseLine]:
        """The materials that the state stands for."""
        kinds = {item.pk: item.kind for item in self.at.items.values()}
        return uses_of(self.state, self.at.recorded.uses, kinds)

    def rows(self) -> tuple[list[WorkRow], list[MaterialRow]]:
        """Return what to save of a valid form."""
        work = [
            WorkRow(self.at.services[line.service], line.quantity, line.price, line.note)
            for line in self.state.work
        ]
        materials = [
            MaterialRow(self.at.items[use.item], use.quantity, use.foot, use.price) for use in self.uses
        ]
        return work, materials

    @property
    def was_tapped(self) -> bool:
        """Whether a button was tapped that fills the form in, and not Save."""
        return any(tap in self.data for tap in TAPS)

    def after_tap(self) -> "HorseWorkForm":
        """Return the form as the tap leaves it; what cannot be read stays as it was typed."""
        self.is_valid()
        form = HorseWorkForm(at=self.at, profile=self.profile, state=self._tapped())
        form.carried = self.opened
        if "last" in self.data:
            form.initial["as_last_time"] = True
        elif "clear" not in self.data:
            chosen = {"nails"} if "pick" in self.data else set()
            form.unread = {name for name in self.errors if name in self.data and name in form.fields} - chosen
            form.initial |= {name: self.data[name] for name in form.unread}
            form.initial["as_last_time"] = "pick" not in self.data and self.cleaned_data["as_last_time"]
        if self.data.get("open") in form.state.feet:
            form.open_foot = self.data["open"]
        return form

    def _tapped(self) -> HorseWork:
        state, data, last = self.state, self.data, self.at.usual.last
        if "last" in data:
            return horse_work.again(last.state) if last else state
        if "clear" in data:
            return HorseWork()
        if "pick" in data:
            return self._picked(self._key(data["pick"], self.at.services))
        if data.get("off") in state.feet:
            return self._with_foot_tapped(state, data["off"])
        if "size" in data:
            return self._sized(*data["size"].partition(":")[::2])
        if "step" in data:
            return self._stepped(*data["step"].partition(":")[::2])
        return state

    def _picked(self, key: int | None) -> HorseWork:
        if key is None:
            return self.state
        others = self.at.facts_of([each for each in self.state.services if each != key])
        [service] = self.at.facts_of([key])
        price = Decimal(0) if self.at.renails.include(service) else None
        return horse_work.tap_service(self.state, service, others, self.at.usual.shoeing, price)

    def _sized(self, which: str, key: str) -> HorseWork:
        """Put what was tapped on a size grid on one foot or on a pair, or take the nail."""
        item = self._key(key, self.at.items)
        if which == "nail":
            return self.state if item is None else horse_work.choose_nail(self.state, item)
        feet = {"front": FORE, "hind": HIND} | {foot: (foot,) for foot in FEET}
        return horse_work.choose_shoe(self.state, feet[which], item) if which in feet else self.state

    def _stepped(self, name: str, by: str) -> HorseWork:
        step = -1 if by == "-1" else 1
        if name == "nails":
            return horse_work.step_nails(self.state, step)
        item = self._key(name.removeprefix("item_"), self.at.items)
        return self.state if item is None else horse_work.step_count(self.state, item, step)

    @staticmethod
    def _key(text: str, keys: Iterable[Hashable]) -> Hashable:
        return next((key for key in keys if str(key) == text), None)

    @property
    def is_as_last_time(self) -> bool:
        """Whether it was filled in from the last time, and nothing else was picked since."""
        return self["as_last_time"].value() in (True, "True")

    def sheet(self, prices: DayPrices) -> HorseSheet:
        """Return what the page shows beside the fields."""
        unread = self.unread | set(self.errors)
        return HorseSheet(self.at, self.state, self.uses, prices, unread, self.open_foot)

    @property
    def line_fields(self) -> list[tuple[str, list[forms.BoundField]]]:
        """What is typed of each line of work: its service, then quantity, price and note."""
        names = ("quantity", "price", "note")
        return [
            (str(self.at.services[line.service]), [self[f"{name}_{line.key}"] for name in names])
            for line in self.state.work
            if line.key in self.lines
        ]

    def with_fields(self, rows: Iterable[ItemOnSheet]) -> list[tuple[ItemOnSheet, forms.BoundField]]:
        """Return the items each with its field."""
        return [(row, self[row.name]) for row in rows]


def initial_of(state: HorseWork) -> dict:
    """Return the fields of the form for a state."""
    fields = {
        "work": [line.key for line in state.work],
        "foot": state.feet,
        "feet_before": " ".join(state.feet),
        "nail": state.nail,
        "nails": state.nails,
        "nails_before": state.nails,
    }
    for line in state.work:
        fields[f"quantity_{line.key}"] = line.quantity
        fields[f"price_{line.key}"] = line.price
        fields[f"note_{line.key}"] = line.note
    fields |= {f"shoe_{foot}": shoe for foot, shoe in state.shoes.items()}
    return fields | {f"item_{item}": count for item, count in state.counts.items() if count}
