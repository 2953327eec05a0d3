"""Forms of what becomes of a horse or a client: what follows is shown before it is recorded."""

import hashlib
from collections.abc import Callable, Iterable

from django import forms

from billing.actions.horse_changes import HorseChange, Kind, Recording
from billing.actions.leaving import Fate, Leaving, horses_in_care
from billing.reports.life_preview import preview_change, preview_leaving
from practice.lib import formats
from practice.lib.errors import RuleBroken
from practice.lib.forms import BookForm, PastDayField
from practice.lib.profile import Profile
from practice.models import Client, Horse, Owner, Place
from practice.reports.planned_stops import KEEP, PlannedStop, planned_stops

Preview = Callable[[], list[str]]


class SeenForm(BookForm):
    """What happened on a day: saved once the reader has seen `consequences`, a sentence each."""

    consequences: list[str] = []
    date = PastDayField(label="Date")
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea)
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, recording: Recording, **kwargs):
        kwargs.setdefault("initial", {"date": recording.today})
        super().__init__(*args, **kwargs)
        self.recording = recording

    def preview(self) -> list[str]:
        """Return what would follow of valid data. Raises RuleBroken where it cannot be saved."""
        raise NotImplementedError

    def may_be_saved(self) -> bool:
        if not super().may_be_saved():
            return False
        try:
            self.consequences = self.preview()
        except RuleBroken as error:
            self.refuse(str(error))
            return False
        if self.cleaned_data["seen"] == self.seal:
            return True
        self.data = self.data.copy()
        self.data[self.add_prefix("seen")] = self.seal
        return False

    @property
    def seal(self) -> str:
        """What stands for what was typed and what follows: another one where either is another."""
        typed = [f"{name}={value}" for name, value in sorted(self.typed().items())]
        return hashlib.sha256("\n".join([*typed, *self.consequences]).encode()).hexdigest()[:32]

    @property
    def save_label(self) -> str:
        return "Save" if self.consequences else "Preview"


def stop_fields(
    stops: Iterable[PlannedStop], proposed: Callable[[PlannedStop], str], profile: Profile
) -> dict[str, forms.ChoiceField]:
    """Return a field for each planned stop, by `stop_` and its key."""
    fields = {}
    for stop in stops:
        day = formats.short_date(stop.visit.date, profile.locale, profile.today)
        fields[f"stop_{stop.visit.pk}"] = forms.ChoiceField(
            label=f"Stop at {stop.visit.place}, {day}",
            choices=list(stop.answers.items()),
            initial=proposed(stop),
            help_text=f"Planned for {formats.listed(stop.horses)}.",
        )
    return fields


def answers_of(data: dict, prefix: str) -> dict[int, str]:
    """Return what was chosen in the fields of this prefix, by the key that their names end with."""
    return {
        int(name.removeprefix(prefix)): value
        for name, value in data.items()
        if name.startswith(prefix) and value
    }


class HorseChangeForm(SeenForm):
    """A day, a note, and what is to become of each planned stop."""

    kind = ""
    own_fields: tuple[str, ...] = ("date",)

    def __init__(self, *args, profile: Profile, horse: Horse, recording: Recording, **kwargs):
        super().__init__(*args, profile=profile, recording=recording, **kwargs)
        self.horse = horse
        self.add_fields(list(horse.owners.on(recording.today).select_related("client")))
        stops = planned_stops([horse], recording.today)
        self.fields |= stop_fields(stops, self.proposed, profile)
        asked = [name for name in self.fields if name.startswith("stop_")]
        self.order_fields([*self.own_fields, *asked])
        self.fit(profile)

    def add_fields(self, owners: list[Owner]) -> None:
        """Add what depends on the horse."""

    def proposed(self, stop: PlannedStop) -> str:
        """What is proposed to become of a planned stop."""
        return stop.without_them

    @property
    def change(self) -> HorseChange:
        """What was typed."""
        data = self.cleaned_data
        own = {name: data[name] for name in ("buyer", "seller", "place", "keeps_payers") if name in data}
        stops = answers_of(data, "stop_")
        return HorseChange(self.kind, data["date"], note=data["note"], stops=stops, **own)

    def preview(self) -> list[str]:
        return preview_change(self.horse, self.change, self.recording, self.profile)


class SaleForm(HorseChangeForm):
    """Who buys; who sells, where there are several owners; where the horse stands from then on."""

    kind = Kind.SOLD
    buyer = forms.ModelChoiceField(
        Client.objects.none(),
        required=False,
        label="Sold to",
        empty_label="Someone who is not a client",
        help_text="A client owns it from this day on. For anyone else, this is the owners' last day.",
    )
    place = forms.ModelChoiceField(
        Place.objects.none(), required=False, label="Place from then on", empty_label="Where it is now"
    )
    own_fields = ("date", "buyer", "seller", "place", "keeps_payers")

    def add_fields(self, owners: list[Owner]) -> None:
        self.fields["buyer"].queryset = Client.objects.current().order_by("name", "pk")
        places = Place.objects.current().exclude(pk=self.horse.place_id)
        self.fields["place"].queryset = places.order_by("name", "pk")
        clients = {owner.client_id: owner.client for owner in owners}
        if len(clients) > 1:
            self.fields["seller"] = forms.ModelChoiceField(
                Client.objects.filter(pk__in=clients),
                required=False,
                label="Sold by",
                empty_label="All owners",
            )
        payers = self.horse.bill_to.select_related("client")
        names = list(dict.fromkeys(str(row.client) for row in payers))
        if names:
            self.fields["keeps_payers"] = forms.BooleanField(
                required=False, label=f"{formats.listed(names)} will go on paying instead of the owners"
            )

    def proposed(self, stop: PlannedStop) -> str:
        return KEEP


class HorseMoveForm(HorseChangeForm):
    """Where the horse stands from a day on."""

    kind = Kind.MOVED
    place = forms.ModelChoiceField(Place.objects.none(), label="New place", empty_label="Choose a place")
    own_fields = ("date", "place")

    def add_fields(self, owners: list[Owner]) -> None:
        places = Place.objects.current().exclude(pk=self.horse.place_id)
        self.fields["place"].queryset = places.order_by("name", "pk")


class AwayForm(HorseChangeForm):
    """A horse that goes elsewhere for a while."""

    kind = Kind.AWAY


class RetirementForm(HorseChangeForm):
    """A horse that needs no more calls."""

    kind = Kind.RETIRED


class DeathForm(HorseChangeForm):
    """A horse that died."""

    kind = Kind.DIED


class ElsewhereForm(BookForm):
    """When someone else did the horse."""

    date = PastDayField(label="Date")
    note = forms.CharField(required=False, label="Note", widget=forms.Textarea)


class LeavingForm(SeenForm):
    """A client who leaves: what becomes of each horse and each planned stop."""

    date = PastDayField(label="Last day")

    def __init__(self, *args, profile: Profile, client: Client, recording: Recording, **kwargs):
        super().__init__(*args, profile=profile, recording=recording, **kwargs)
        self.client = client
        horses = horses_in_care(client, recording.today)
        self.buyers = list(Client.objects.current().exclude(pk=client.pk).order_by("name", "pk"))
        shares = Owner.objects.on(recording.today).filter(horse__in=horses).exclude(client=client)
        others: dict[int, list[str]] = {}
        for share in shares.select_related("client"):
            others.setdefault(share.horse_id, []).append(str(share.client))
        self.fields |= {f"horse_{h.pk}": self.fate_of(h, others.get(h.pk, [])) for h in horses}
        self.fields |= stop_fields(
            planned_stops(horses, recording.today), lambda stop: stop.without_them, profile
        )
        self.order_fields([name for name in self.fields if name not in ("note", "seen")])
        self.fit(profile)

    def fate_of(self, horse: Horse, others: list[str]) -> forms.ChoiceField:
        """Return the field that asks what becomes of a horse: with other owners, nothing is proposed."""
        clients = [(str(client.pk), str(client)) for client in self.buyers]
        choices = [*FATES, ("Another client takes it over", clients)] if clients else FATES
        if not others:
            return forms.ChoiceField(label=str(horse), choices=choices, initial=Fate.GOES)
        also = f"{formats.listed(others)} also {'own' if len(others) > 1 else 'owns'} a share."
        return forms.ChoiceField(label=str(horse), choices=[("", "Choose one"), *choices], help_text=also)

    @property
    def leaving(self) -> Leaving:
        """What was typed."""
        data, buyers = self.cleaned_data, {str(client.pk): client for client in self.buyers}
        chosen = answers_of(data, "horse_")
        fates = {key: Fate.HANDED if value in buyers else value for key, value in chosen.items()}
        taken = {key: buyers[value] for key, value in chosen.items() if value in buyers}
        return Leaving(data["date"], fates, taken, answers_of(data, "stop_"), data["note"])

    def preview(self) -> list[str]:
        return preview_leaving(self.client, self.leaving, self.recording, self.profile)


FATES = [
    (Fate.GOES, "Leaves with the client"),
    (Fate.SOLD, "Sold to someone who is not a client"),
    (Fate.RETIRED, "Retired"),
    (Fate.DIED, "Died"),
]
