"""The short form of a horse at a visit: each tap posts and comes back filled in; Save writes it down."""

from collections.abc import Hashable, Iterable
from dataclasses import replace
from decimal import Decimal

from django import forms
from django.http import QueryDict

from practice.actions.work import MaterialRow, WorkRow
from practice.forms.asking_work import AskingWorkForm
from practice.forms.work_fields import ANY_LINE, ChosenKeyField, count_field, fields_of_line, initial_of
from practice.lib.addresses import id_of
from practice.lib.profile import Profile
from practice.models import Finding, Foot
from practice.reports.horse_at_visit import DayPrices, HorseAtVisit
from practice.reports.horse_sheet import HorseSheet
from practice.reports.sheet_rows import ItemOnSheet
from practice.rules import horse_work
from practice.rules.horse_work import FEET, FORE, HIND, HorseWork, UseLine, WorkLine, uses_of

CHANGED = {"invalid_choice": "The work on this horse changed in the meantime. Open the horse again."}
# The buttons that fill the form in; `changed` shows it as it was typed.
TAPS = ("last", "clear", "pick", "on", "open", "off", "size", "step", "changed")


class HorseWorkForm(AskingWorkForm):
    """What was done to a horse, and what it took: `state` is what it shows, or what was posted.

    What was posted may be a tap (`was_tapped`): then `after_tap()` is the form to show. Else, once it is
    valid, `rows()` are what to save.
    """

    work = forms.MultipleChoiceField(required=False, widget=forms.MultipleHiddenInput)
    foot = forms.MultipleChoiceField(required=False, choices=Foot.choices)
    nails = count_field("Nails")
    as_last_time = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, at: HorseAtVisit, profile: Profile, state: HorseWork | None = None):
        self.at, self.unread, self.open_foot = at, set(), ""
        self.state = at.recorded.state if state is None else state
        super().__init__(*args, profile=profile, initial=initial_of(self.state))
        marked = {row.finding.pk for row in at.earlier_findings if row.is_resolved}
        self.seen_before = self._posted_keys("seen_before") if self.is_bound else marked
        self.seen = self._posted_keys("seen") if self.is_bound else marked

    def fit(self, profile: Profile) -> None:
        """Add the fields of each line of work, of each foot, and of each item."""
        self.lines = {line.key: line for line in self._lines()}
        self.fields["work"].choices = [(key, key) for key in self.lines]
        for key in self.lines:
            self.fields |= fields_of_line(key)
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

    def _posted_keys(self, name: str) -> set[int]:
        """The keys of findings that a field of the post names."""
        return {key for text in self.data.getlist(name) if (key := id_of(text)) is not None}

    @property
    def newly_marked(self) -> list[Finding]:
        """The findings that were ticked as seen to, or no longer, since the form was opened."""
        changed = self.seen ^ self.seen_before
        return [row.finding for row in self.at.earlier_findings if row.finding.pk in changed]

    def clean_foot(self) -> tuple[str, ...]:
        return tuple(foot for foot in FEET if foot in self.cleaned_data["foot"])

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
        is_only_marked = not self.uses and self.newly_marked
        if not (self.state.work or is_cleared or is_only_marked):
            self.add_error(None, "Tap what was done first.")

    def _posted(self) -> HorseWork:
        """Return the state that was posted; a field in error counts as blank."""
        data = self.cleaned_data
        return HorseWork(
            tuple(self._posted_line(key) for key in data.get("work", ())),
            feet=data.get("foot", ()),
            shoes={foot: shoe for foot in FEET if (shoe := data.get(f"shoe_{foot}")) is not None},
            nail=data.get("nail"),
            nails=data.get("nails") or Decimal(0),
            counts={key: count for key in self.at.items if (count := data.get(f"item_{key}"))},
        )

    def _posted_line(self, key: str) -> WorkLine:
        data = self.cleaned_data
        quantity = data.get(f"quantity_{key}") or Decimal(0)
        price, note = data.get(f"price_{key}"), data.get(f"note_{key}", "")
        return replace(self.lines[key], quantity=quantity, price=price, note=note)

    def _with_foot_tapped(self, foot: str) -> HorseWork:
        services = self.at.facts_of(self.state.services)
        return horse_work.tap_foot(self.state, foot, services, self.at.usual.shoeing)

    def earlier_state(self) -> HorseWork:
        data, last = QueryDict(self.earlier), self.at.usual.last
        if "again" in data and last:
            return horse_work.again(last.state)
        form = HorseWorkForm(data, at=self.at, profile=self.profile)
        form.is_valid()
        return form.state

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
        form.seen, form.seen_before = self.seen, self.seen_before
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
            return self._with_foot_tapped(data["off"])
        if data.get("on") in set(FEET) - set(state.feet):
            return self._with_foot_tapped(data["on"])
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
    def line_fields(self) -> list[tuple[str, str, list[forms.BoundField]]]:
        """What is typed of each line of work: its key, its service, then quantity, price and note."""
        return [
            (line.key, str(self.at.services[line.service]), [self[name] for name in fields_of_line(line.key)])
            for line in self.state.work
            if line.key in self.lines
        ]

    @property
    def blank_line(self) -> list[forms.BoundField]:
        """The fields of a line that is added on the page."""
        fields = fields_of_line(ANY_LINE)
        for field in fields.values():
            field.profile = self.profile
        return [field.get_bound_field(self, name) for name, field in fields.items()]

    @property
    def carried_fields(self) -> list[forms.BoundField]:
        """The hidden fields but for the works, which stand with their lines."""
        return [field for field in self.hidden_fields() if field.name != "work"]

    def with_fields(self, rows: Iterable[ItemOnSheet]) -> list[tuple[ItemOnSheet, forms.BoundField]]:
        """Return the items each with its field."""
        return [(row, self[row.name]) for row in rows]
