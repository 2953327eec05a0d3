"""Forms of clients, places and horses."""

from decimal import Decimal

from django import forms

from practice.lib.form_fields import PriceField
from practice.lib.forms import BookForm, NamedForm, NumberField, PlannedDayField
from practice.lib.here import let_device_fill_in
from practice.lib.territories import language_choices
from practice.models import Client, Horse, Place

FIRST_BORN = 1970
DAYS_TO_PAY = (0, 365)


class ClientForm(NamedForm):
    ranges = {"payment_terms_days": DAYS_TO_PAY}
    language = forms.ChoiceField(
        label="Language of numbers and dates", required=False, help_text="On what you send to this client."
    )

    class Meta:
        model = Client
        fields = [
            "name",
            "phone",
            "email",
            "address",
            "billing",
            "payment_terms_days",
            "discount",
            "tax_exempt",
            "language",
            "notes",
        ]
        labels = {
            "billing": "Invoices",
            "payment_terms_days": "Days to pay",
            "discount": "Discount, percent",
            "tax_exempt": "Tax exempt",
        }
        help_texts = {
            "payment_terms_days": "Leave blank to use the number in Settings.",
            "discount": "Off services and materials on every invoice issued from now on.",
            "tax_exempt": "Keep the client's exemption certificate. A licensed tax preparer decides.",
        }
        field_classes = {"email": forms.EmailField}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        discount = self.fields["discount"]
        discount.low, discount.high, discount.example = Decimal(0), Decimal(100), "5"
        languages = language_choices(self.profile.country, self.instance.language)
        self.fields["language"].choices = [("", "As in Settings"), *languages]


class PlaceForm(NamedForm):
    class Meta:
        model = Place
        fields = [
            "name",
            "address",
            "phone",
            "gate_code",
            "area",
            "travel_rate",
            "latitude",
            "longitude",
            "notes",
        ]
        field_classes = {"travel_rate": PriceField}
        labels = {
            "phone": "Phone at the barn",
            "gate_code": "Gate code",
            "area": "Tax area",
            "travel_rate": "Travel rate for this place",
        }
        help_texts = {
            "area": "As your tax rates name it, such as a county.",
            "travel_rate": "Per visit or per distance, as in Settings. Leave blank to use the rate there.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["travel_rate"].low = Decimal(0)
        let_device_fill_in(self, "latitude", "longitude")


class HorseForm(NamedForm):
    ranges = {"cycle_weeks": (1, 52)}

    class Meta:
        model = Horse
        fields = [
            "name",
            "place",
            "cycle_weeks",
            "next_call",
            "cautions",
            "status",
            "breed",
            "born",
            "notes",
            "vet_name",
            "vet_phone",
        ]
        labels = {
            "vet_name": "Its veterinarian",
            "vet_phone": "Veterinarian's phone",
            "place": "Place",
            "cycle_weeks": "Weeks between visits",
            "next_call": "Agreed next visit",
            "born": "Year of birth",
        }
        help_texts = {
            "next_call": "Leave blank to go by the weeks between visits.",
            "vet_name": "Leave blank for the one in Settings.",
            "cautions": "What can hurt someone, such as: kicks, needs a second person. Shown first.",
        }
        field_classes = {"next_call": PlannedDayField}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["place"].queryset = Place.objects.filter(archived=False).order_by("name")

    def clean_born(self):
        born, this_year = self.cleaned_data["born"], self.profile.today.year
        if born is not None and not FIRST_BORN <= born <= this_year:
            raise forms.ValidationError(f"Type a year from {FIRST_BORN} to {this_year}.")
        return born

    def ask_about(self, other: Horse) -> str:
        place = f" at {other.place}" if other.place else ""
        return f"Another horse{place} is named {other.name} too. Is this a second one?"


class OwnersForm(BookForm):
    """Who owns a horse from a day on, in up to four shares of a hundred."""

    SLOTS = 4
    since = PlannedDayField(
        label="From", required=False, help_text="Leave blank if they owned it from the start."
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        clients = Client.objects.filter(archived=False).order_by("name")
        for number in range(1, self.SLOTS + 1):
            self.fields[f"client_{number}"] = forms.ModelChoiceField(
                clients, required=False, label=f"Owner {number}"
            )
            self.fields[f"share_{number}"] = NumberField(
                required=False,
                label=f"Share {number}, percent",
                above=Decimal(0),
                high=Decimal(100),
                example="50",
            )
        self.fit(self.profile)

    def state(self):
        """Return who owns it now; the day proposed for the new shares is not one of its values."""
        state = super().state()
        return {name: value for name, value in state.items() if name != "since"}

    def clean(self):
        shares = []
        for number in range(1, self.SLOTS + 1):
            client = self.cleaned_data.get(f"client_{number}")
            share = self.cleaned_data.get(f"share_{number}")
            if client and share is None and f"share_{number}" not in self.errors:
                self.add_error(f"share_{number}", "Type the share in percent, such as 50.")
            elif share is not None and not client:
                self.add_error(f"client_{number}", "Choose who owns this share.")
            elif client:
                shares.append((client, share))
        if not shares and not self.errors:
            self.add_error("client_1", "Choose who owns the horse.")
        total = sum((share for _, share in shares if share), Decimal(0))
        if shares and not self.errors and total != 100:
            self.add_error("share_1", f"The shares add up to {total:f}. They have to add up to 100.")
        self.cleaned_data["shares"] = shares
        return self.cleaned_data
