"""Forms of services, vehicles and the practice itself."""

from decimal import Decimal

from babel import Locale
from babel.numbers import is_currency
from django import forms
from django.urls import reverse
from django.utils.html import format_html

from practice.lib.countries import country_of, mileage_schemes
from practice.lib.form_fields import PriceField
from practice.lib.formats import is_language
from practice.lib.forms import BookModelForm, NamedForm, PastDayField
from practice.lib.logo import LARGEST, clean_logo
from practice.lib.profile import Profile
from practice.models import Service, Vehicle
from stock.models import Location

UP_TO_A_YEAR = (0, 365)


class ServiceForm(NamedForm):
    ranges = {"minutes": (0, 600)}

    class Meta:
        model = Service
        fields = ["name", "minutes", "new_shoes", "feet_nailed", "fitted", "resets_cycle", "taxable"]
        labels = {
            "minutes": "Usual minutes",
            "new_shoes": "New shoes",
            "feet_nailed": "Feet nailed",
            "resets_cycle": "Starts a new cycle",
            "taxable": "Taxed",
        }
        help_texts = {
            "resets_cycle": "Leave unchecked for a lost shoe or a follow-up.",
            "taxable": "What is taxed differs from place to place. A licensed tax preparer decides.",
        }

    def clean(self):
        data = super().clean()
        for name in ("new_shoes", "feet_nailed"):
            if (data.get(name) or 0) > 4:
                self.add_error(name, "A horse has four feet. Type a number from 0 to 4.")
        return data


class VehicleForm(BookModelForm):
    class Meta:
        model = Vehicle
        fields = ["name", "placed_in_service", "location"]
        labels = {"placed_in_service": "In service since", "location": "Carries the stock of"}
        help_texts = {"location": "What you use on a visit with this vehicle is taken from there."}
        field_classes = {"placed_in_service": PastDayField}
        error_messages = {
            "location": {"unique": "Another vehicle already carries that stock. Choose another one."}
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        places = Location.objects.order_by("pk")
        self.fields["location"].queryset, self.fields["location"].empty_label = places, "None"
        if not places.exists():
            del self.fields["location"]


class SettingsForm(BookModelForm):
    ranges = {
        "payment_terms_days": UP_TO_A_YEAR,
        "free_renail_days": UP_TO_A_YEAR,
        "late_fee_after_days": UP_TO_A_YEAR,
        "lead_time_days": UP_TO_A_YEAR,
        "review_period_days": UP_TO_A_YEAR,
    }
    logo = forms.FileField(
        required=False,
        label="Logo",
        help_text="PNG or JPEG, at most 2 MB. Without one, invoices show your initials.",
    )

    mileage_scheme = forms.ChoiceField()

    class Meta:
        model = Profile
        fields = [
            "name",
            "address",
            "phone",
            "email",
            "registration_number",
            "tax_id",
            "pay_note",
            "invoice_prefix",
            "payment_terms_days",
            "late_fee",
            "late_interest_percent",
            "late_fee_after_days",
            "set_aside_percent",
            "travel_rule",
            "travel_rate",
            "minimum_call",
            "travel_taxable",
            "free_renail_days",
            "early_discount_percent",
            "early_discount_days",
            "locale",
            "country",
            "currency",
            "distance_unit",
            "mileage_scheme",
            "home_is_principal_place_of_business",
            "home_statement",
            "home_latitude",
            "home_longitude",
            "valuation",
            "lead_time_days",
            "review_period_days",
        ]
        field_classes = {"email": forms.EmailField, "travel_rate": PriceField, "minimum_call": PriceField}
        labels = {
            "tax_id": "Tax ID",
            "pay_note": "How to pay",
            "invoice_prefix": "Invoice numbers begin with",
            "payment_terms_days": "Days to pay",
            "late_fee": "Late fee",
            "late_interest_percent": "Late interest, percent a year",
            "late_fee_after_days": "Days past due before either is proposed",
            "set_aside_percent": "Set aside for taxes, percent",
            "travel_rule": "Travel charge",
            "travel_rate": "Travel rate",
            "minimum_call": "Minimum per stop",
            "travel_taxable": "Travel is taxed",
            "free_renail_days": "Lost shoes put back free, days after your work",
            "early_discount_percent": "Early-payment discount, percent",
            "early_discount_days": "Early-payment discount, days to pay",
            "locale": "Language and number format",
            "home_is_principal_place_of_business": "Home is your principal place of business",
            "home_statement": "Why it is",
            "valuation": "How stock is valued",
            "lead_time_days": "Days until a delivery arrives",
            "review_period_days": "Days between orders",
        }
        help_texts = {
            "pay_note": "Printed on invoices. One way per line, such as 'By mail: check to …'.",
            "locale": "Such as en-US, en-GB, de-DE.",
            "currency": "Such as USD. It cannot be changed once the book has amounts.",
            "country": "Two letters, such as US. Sets the tax year, the paper size, and the wording of tax"
            " pages.",
            "home_statement": "In your own words, such as: I keep my books and plan my rounds at home, and"
            " have no other office. It is printed in the year-end report and the mileage log.",
            "late_fee": "Once for each late invoice, proposed under Money, Owed. Blank: none. Consumer law"
            " comes first: it may cap or forbid it.",
            "late_interest_percent": "Simple interest on what is open. Blank: none.",
            "set_aside_percent": "Of what is left of each quarter. You choose it; no tax is calculated.",
            "travel_rule": "For a share of the way back, the stops of a day wait to be billed until you have"
            " logged the drive after the last one.",
            "free_renail_days": "Counted from the last time you nailed a shoe on that horse. A lost shoe is"
            " then proposed at 0; you can still type a price. Leave blank to always charge for it.",
            "minimum_call": "The least a stop is billed. The difference is charged and taxed like travel.",
            "early_discount_percent": "Proposed when a payment is short by just that, never taken unasked.",
            "early_discount_days": "After the date of the invoice.",
            "travel_taxable": "What is taxed (shoes, labor, travel) differs {}. Nothing is taxed until you"
            " check it here, on the service, or on the item. A licensed tax preparer decides.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["travel_rate"].low = Decimal(0)
        self.fields["minimum_call"].low = Decimal(0)
        early = self.fields["early_discount_percent"]
        early.low, early.high, early.example = Decimal(0), Decimal(100), "2"
        self.fields["mileage_scheme"].choices = [
            (name, scheme.label) for name, scheme in mileage_schemes().items()
        ]
        taxable = self.fields["travel_taxable"]
        taxable.help_text = taxable.help_text.format(self.instance.home_country.taxed_differently)
        for name, example in (("set_aside_percent", "25"), ("late_interest_percent", "8")):
            field = self.fields[name]
            field.low, field.high, field.example = Decimal(0), Decimal(100), example
        fee = self.fields["late_fee"]
        fee.money, fee.low, fee.example = True, Decimal(0), "10.00"
        self.fields["valuation"].help_text = format_html(
            'The method your book began with. You can <a href="{}">change it from a day on</a>. The tax'
            " authority may have to agree: a licensed tax preparer decides.",
            reverse("stock:valuation-list"),
        )
        if self.instance.pk and Profile.objects.filter(pk=self.instance.pk).exists():
            for name in ("currency", "distance_unit", "valuation"):
                self.fields[name].disabled = self.has_entries()
        else:
            self.begin_as_usual()

    def begin_as_usual(self) -> None:
        """Offer a new practice what is usual in its country."""
        for name in ("distance_unit", "mileage_scheme"):
            field = self.fields[name]
            field.required, self.initial[name] = False, ""
            field.choices = [
                ("", "Usual for your country"),
                *(row for row in field.choices if row[0]),
            ]

    def has_entries(self) -> bool:
        """Whether the book has amounts or distances: then currency, unit and costing can no longer change."""
        from practice.models import Leg, Reading, Work
        from stock.models import Movement

        return any(model.objects.exists() for model in (Work, Movement, Leg, Reading))

    def clean_locale(self):
        tag = self.cleaned_data["locale"]
        if not is_language(tag):
            raise forms.ValidationError("Type a language such as en-US.")
        return tag

    def clean_currency(self):
        currency = self.cleaned_data["currency"].upper()
        if not is_currency(currency):
            raise forms.ValidationError("Type a currency such as USD.")
        return currency

    def clean_country(self):
        country = self.cleaned_data["country"].upper()
        if country and country not in Locale("en").territories:
            raise forms.ValidationError("Type a country of two letters, such as US.")
        return country

    def clean_logo(self):
        upload = self.cleaned_data["logo"]
        if not upload:
            return None
        try:
            return clean_logo(upload.read(LARGEST + 1))
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None

    def clean(self):
        data = super().clean()
        rule, rate = data.get("travel_rule"), data.get("travel_rate")
        home = country_of(data.get("country", ""))
        usual = {"distance_unit": home.distance_unit, "mileage_scheme": home.mileage_scheme.name}
        for name in usual.keys() - self.errors.keys():
            data[name] = data.get(name) or usual[name]
        if data.get("early_discount_percent") and data.get("early_discount_days") is None:
            self.add_error("early_discount_days", "Type within how many days, such as 10.")
        if rule and rule != "none" and rate is None and "travel_rate" not in self.errors:
            self.add_error("travel_rate", "Type the rate, such as 0.85.")
        return data
