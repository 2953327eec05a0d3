"""The first steps of a practice: who it is, its clients with their horses, its vehicle."""

from decimal import Decimal

from django import forms

from practice.actions.newcomers import NewClient, NewHorse, known_by_name
from practice.forms.logo import LogoField
from practice.forms.road import reading_field
from practice.forms.settings import has_entries
from practice.lib.forms import BookForm, BookModelForm, NumberField, Odd, PastDayField
from practice.lib.names import is_same_name
from practice.lib.profile import Profile
from practice.lib.row_forms import RowGroup, RowsForm, ShownRows
from practice.lib.territories import country_choices, currency_choices, language_choices, usual_in
from practice.lib.units import DISTANCE_UNITS
from practice.models import Client, Horse, Place, Service, Vehicle
from stock.models import Fits, Item, ItemKind

USUAL = ("", "Usual for the country")
FOLLOWS = ("currency", "distance_unit", "locale")
OTHERS = 2


class BeginPracticeForm(BookModelForm):
    """Name, address, country, how to pay, logo. Currency, miles and language follow from the country."""

    country = forms.ChoiceField(
        label="Country", help_text="Sets the tax year, the paper size, and what is below."
    )
    currency = forms.ChoiceField(label="Currency", required=False)
    distance_unit = forms.ChoiceField(label="Distances", required=False)
    locale = forms.ChoiceField(label="How numbers and dates are written", required=False)
    logo = LogoField()

    class Meta:
        model = Profile
        fields = ["name", "address", "pay_note", "country", *FOLLOWS]
        labels = {"name": "Name of your practice", "pay_note": "How to pay"}
        help_texts = {
            "address": "Printed on invoices.",
            "pay_note": "Printed on invoices. One way per line, such as 'At the barn: cash or check'.",
        }

    field_order = ("name", "address", "pay_note", "logo", "country", *FOLLOWS)

    def __init__(self, *args, guess: str = "", **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["address"].required = False
        self.fields["country"].choices = [("", "Choose one"), *country_choices()]
        if not self.instance.country:
            self.initial["country"] = guess
        self.began = not self.instance._state.adding
        if self.began and has_entries():
            for name in FOLLOWS:
                del self.fields[name]
            self.fields["country"].help_text = "Sets the tax year and the paper size."
            return
        usual, here = usual_in(self.instance.country), self.instance.country or guess
        choices = {
            "currency": currency_choices(here, self.instance.currency if self.began else ""),
            "distance_unit": [(unit.name, unit.many.capitalize()) for unit in DISTANCE_UNITS.values()],
            "locale": language_choices(here, self.instance.locale if self.began else ""),
        }
        for name, known in choices.items():
            value = getattr(self.instance, name)
            self.fields[name].choices = [USUAL, *known]
            self.initial[name] = value if self.began and value != getattr(usual, name) else ""

    @property
    def shown(self) -> list:
        return [field for field in self if field.name not in FOLLOWS]

    @property
    def folded(self) -> list:
        return [field for field in self if field.name in FOLLOWS]

    def clean(self):
        data = super().clean()
        country = data.get("country") or ""
        if country and not self.errors:
            for name in FOLLOWS:
                if name in self.fields:
                    data[name] = data.get(name) or getattr(usual_in(country), name)
        return data

    def save(self, commit=True):
        """Save the practice. A country brings its mileage scheme when chosen, until the book has entries."""
        is_chosen = not self.began or "country" in self.changed_data
        if is_chosen and "currency" in self.fields:
            self.instance.mileage_scheme = self.instance.home_country.mileage_scheme.name
        return super().save(commit)


def name_field(label: str, names: str, required: bool = False, help_text: str = "") -> forms.CharField:
    """Return the field of a name; the page proposes those of the list with the id `names`."""
    widget = forms.TextInput(attrs={"list": names, "autocomplete": "off"})
    return forms.CharField(label=label, required=required, max_length=200, widget=widget, help_text=help_text)


def item_field(label: str) -> forms.ModelChoiceField:
    return forms.ModelChoiceField(Item.objects.none(), label=label, required=False, empty_label="Not known")


HORSES = RowGroup(
    one="Horse",
    fields={
        "horse": forms.CharField(label="Name", required=False, max_length=200),
        "last_done": PastDayField(label="Last done", required=False),
        "done": forms.ModelChoiceField(
            Service.objects.none(), label="What was done", required=False, empty_label="Not known"
        ),
        "cycle_weeks": forms.IntegerField(label="Weeks between visits", required=False, initial=6),
        "front": item_field("Shoes in front"),
        "hind": item_field("Shoes behind"),
        **{
            name: field
            for number in range(1, OTHERS + 1)
            for name, field in (
                (f"owner{number}_of", name_field("Another owner", "known-clients")),
                (
                    f"share{number}_of",
                    NumberField(
                        label="Their share, percent",
                        required=False,
                        above=Decimal(0),
                        high=Decimal(100),
                        example="50",
                    ),
                ),
            )
        },
        "cautions": forms.CharField(
            label="Caution", required=False, help_text="What can hurt someone, such as: kicks. Shown first."
        ),
    },
    rows=6,
    more_as="More horses",
    folded=("cycle_weeks", "front", "hind", "owner1_of", "share1_of", "owner2_of", "share2_of", "cautions"),
    folded_as="Weeks, shoes, owners, caution",
)


class BeginClientForm(RowsForm):
    """A client, the place, and the horses there. The client owns them alone unless others are named."""

    client = name_field("Client", "known-clients", required=True, help_text="Who pays.")
    phone = forms.CharField(label="Phone", required=False, max_length=60)
    email = forms.EmailField(label="Email", required=False, max_length=254)
    address = forms.CharField(label="Address", required=False, widget=forms.Textarea)
    place = name_field("Place", "known-places", help_text="The barn or yard where the horses are kept.")
    place_address = forms.CharField(label="Address of the place", required=False, widget=forms.Textarea)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.add_rows(HORSES)
        self.ranges = {f"cycle_weeks_{number}": (1, 52) for number in range(1, HORSES.rows + 1)}
        services = Service.objects.current().filter(resets_cycle=True).order_by("pk")
        shoes = Item.objects.current().filter(kind=ItemKind.SHOE).in_order()
        choices = {
            "done": services,
            "front": shoes.exclude(fits=Fits.HIND),
            "hind": shoes.exclude(fits=Fits.FRONT),
        }
        for name, rows in choices.items():
            listed = [("", "Not known"), *((row.pk, str(row)) for row in rows)]
            for number in range(1, HORSES.rows + 1):
                field = self.fields[f"{name}_{number}"]
                field.queryset = rows
                field.choices = listed  # asked of the database once, not for each horse
        self.fit(self.profile)

    @property
    def of_client(self) -> list:
        return [self[name] for name in ("client", "place")]

    @property
    def folded(self) -> list:
        return [self[name] for name in ("phone", "email", "address", "place_address")]

    @property
    def horses(self) -> ShownRows:
        return self.rows_of(HORSES)

    @property
    def known_clients(self):
        return Client.objects.current().order_by("name").values_list("name", flat=True)

    @property
    def known_places(self):
        return Place.objects.current().order_by("name").values_list("name", flat=True)

    def clean(self):
        data = super().clean()
        rows = self.typed_rows(HORSES)
        horses = [self._horse(number, row) for number, row in rows]
        if not rows and not self.errors:
            self.add_error("horse_1", "Type the name of a horse.")
        if any(row["last_done"] for _, row in rows) and not data.get("place"):
            self.add_error("place", "Type where the horses are kept, such as Larkspur Barn.")
        plain = ("phone", "email", "address", "place", "place_address")
        data["new"] = NewClient(
            data.get("client", ""), **{name: data.get(name, "") for name in plain}, horses=horses
        )
        return data

    def _horse(self, number: int, row: dict) -> NewHorse:
        self.need("horse", number, row["horse"], "Type the name of the horse.")
        if row["last_done"]:
            self.need("done", number, row["done"], "Choose what was done that day.")
        elif row["done"]:
            self.need("last_done", number, row["last_done"], "Type the day on which that was done.")
        others = []
        for each in range(1, OTHERS + 1):
            owner, share = row[f"owner{each}_of"], row[f"share{each}_of"]
            if owner:
                self.need(f"share{each}_of", number, share, "Type the share in percent, such as 50.")
            elif share is not None:
                self.need(f"owner{each}_of", number, owner, "Type who owns this share.")
            if owner and share is not None:
                others.append((owner, share))
        if sum((share for _, share in others), Decimal(0)) >= 100:
            self.add_error(
                f"share1_of_{number}", "Leave the client a share: together these must stay below 100."
            )
        return NewHorse(
            row["horse"] or "",
            cycle_weeks=row["cycle_weeks"] or 6,
            cautions=row["cautions"] or "",
            others=others,
            last_done=row["last_done"],
            service=row["done"],
            front=row["front"],
            hind=row["hind"],
        )

    def odd(self):
        client = known_by_name(Client, self.cleaned_data["client"])
        if client:
            question = f"{client} is in the book already. Are these more horses of that client?"
            yield Odd("client_known", "client", question)
        names = Horse.objects.active().values_list("name", flat=True)
        for number, row in self.typed_rows(HORSES):
            if any(is_same_name(row["horse"], name) for name in names):
                question = f"Another horse is named {row['horse']} too. Is this a second one?"
                yield Odd("same_name", f"horse_{number}", question)


class BeginVehicleForm(BookForm):
    """The vehicle of the rounds, with what its odometer says this morning."""

    vehicle = forms.CharField(label="Vehicle", max_length=200, help_text="Such as Blue truck.")
    odometer = reading_field("Odometer this morning", required=False)

    def clean_vehicle(self):
        name = self.cleaned_data["vehicle"]
        if any(is_same_name(name, other) for other in Vehicle.objects.values_list("name", flat=True)):
            raise forms.ValidationError("A vehicle with this name is in the book already. Type another name.")
        return name
