"""The practice's settings: a form for each section, its fields in groups, each with what it changes."""

from django import forms
from django.urls import reverse
from django.utils.html import format_html

from practice.forms.logo import LogoField
from practice.forms.sections import UP_TO_A_YEAR, FieldGroup, SectionForm
from practice.lib.countries import mileage_schemes
from practice.lib.here import let_device_fill_in
from practice.lib.profile import Profile
from practice.lib.territories import country_choices, currency_choices, language_choices, usual_in
from practice.models import FootRecord, Leg, Reading, Work
from stock.models import Movement

POSITION = ("home_latitude", "home_longitude")


class WhoForm(SectionForm):
    groups = (
        FieldGroup("On your papers", ("name", "address", "phone", "email", "logo")),
        FieldGroup("Numbers", ("registration_number", "tax_id")),
        FieldGroup("Where you work", ("country",)),
    )
    country = forms.ChoiceField(required=False)
    logo = LogoField()

    class Meta:
        model = Profile
        fields = ["name", "address", "phone", "email", "registration_number", "tax_id", "country"]
        field_classes = {"email": forms.EmailField}
        labels = {"registration_number": "Registration number", "tax_id": "Tax ID"}
        help_texts = {
            "name": "The name of your practice, at the top of every paper.",
            "address": "Below your name. The mileage log takes your town from it.",
            "phone": "On your papers, so that clients can reach you.",
            "email": "On your papers as well. Messages are sent by the mail server that you set up.",
            "registration_number": "Your business's number, if your invoices have to show one.",
            "tax_id": "Printed on your papers. Leave it blank if yours is private, such as a Social Security"
            " number.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        country = self.fields["country"]
        country.label = "Country"
        country.choices = [("", "Not chosen"), *country_choices()]
        country.help_text = (
            "Sets the tax year, the paper size, and the words of tax pages. Currency, language, and miles or"
            " kilometers follow it until you choose others or enter work, drives, or stock."
        )

    def save(self, commit: bool = True) -> Profile:
        """Save the practice. What was usual in its country before becomes what is usual in the new one."""
        before, after = (usual_in(code) for code in (self.initial["country"] or "", self.instance.country))
        if before != after and (self.row is None or not has_entries()):
            for name in ("currency", "locale", "distance_unit", "mileage_scheme"):
                if getattr(self.instance, name) == getattr(before, name):
                    setattr(self.instance, name, getattr(after, name))
        return super().save(commit)


class HomeAndRoadForm(SectionForm):
    groups = (
        FieldGroup("What home counts as", ("home_is_principal_place_of_business", "home_statement")),
        FieldGroup("Where home is", POSITION),
        FieldGroup("On tax pages", ("mileage_scheme",)),
    )
    mileage_scheme = forms.ChoiceField(label="Mileage rate")

    class Meta:
        model = Profile
        fields = [
            "home_is_principal_place_of_business",
            "home_statement",
            "home_latitude",
            "home_longitude",
            "mileage_scheme",
        ]
        labels = {
            "home_is_principal_place_of_business": "Home is your principal place of business",
            "home_statement": "Why it is",
            "home_latitude": "Latitude",
            "home_longitude": "Longitude",
        }
        help_texts = {
            "home_statement": "In your own words, such as: I keep my books and plan my rounds at home, and"
            " have no other office. It is printed in the year-end report and the mileage log.",
            "home_latitude": "Where your day starts and ends. With it, a first or last drive that you have"
            " not driven before is proposed by the straight line and how much longer your roads are.",
            "home_longitude": "West of Greenwich it is below zero, such as -96.7.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        let_device_fill_in(self, *POSITION)
        principal, scheme = self.fields["home_is_principal_place_of_business"], self.fields["mileage_scheme"]
        principal.help_text = (
            "Home is where you keep the books and plan the rounds: then drives from home to a barn are"
            " business. Unchecked, drives from and to home and the first and last of a day count as commuting"
            f" unless you give a reason{self.instance.home_country.home_cited}. A licensed tax preparer"
            " decides."
        )
        scheme.choices = [(name, known.label) for name, known in mileage_schemes().items()]
        scheme.help_text = format_html(
            'The page of the year shows its amount beside your actual costs. See the <a href="{}">rates and'
            " their conditions</a>.",
            reverse("billing:mileage-rate-list"),
        )

    def clean(self):
        data = super().clean()
        typed = [name for name in POSITION if data.get(name) is not None]
        for name in {*POSITION} - {*typed} - self.errors.keys() if typed else ():
            self.add_error(name, "Type both latitude and longitude, or neither.")
        return data


class VetForm(SectionForm):
    groups = (FieldGroup("Your veterinarian", ("vet_name", "vet_phone")),)

    class Meta:
        model = Profile
        fields = ["vet_name", "vet_phone"]
        labels = {"vet_name": "Name", "vet_phone": "Phone"}
        help_texts = {
            "vet_name": "Whom you call about a horse that has no veterinarian of its own in the book.",
            "vet_phone": "Offered wherever a sign is one to call about.",
        }


class ShelfForm(SectionForm):
    ranges = {"lead_time_days": UP_TO_A_YEAR, "review_period_days": UP_TO_A_YEAR}
    groups = (
        FieldGroup("Ordering", ("lead_time_days", "review_period_days")),
        FieldGroup("What stock costs", ("valuation",)),
    )

    class Meta:
        model = Profile
        fields = ["lead_time_days", "review_period_days", "valuation"]
        labels = {
            "lead_time_days": "Days until a delivery arrives",
            "review_period_days": "Days between orders",
            "valuation": "How stock is valued",
        }
        help_texts = {
            "lead_time_days": "For items with no delivery time of their own or their supplier's.",
            "review_period_days": "What to order looks ahead until a delivery arrives and this many days"
            " more, and lists what you may run short of by then.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        valuation = self.fields["valuation"]
        valuation.help_text = format_html(
            'The method your book began with. You can <a href="{}">change it from a day on</a>. The tax'
            " authority may have to agree: a licensed tax preparer decides.",
            reverse("stock:valuation-list"),
        )
        valuation.disabled = has_entries()


class LanguageForm(SectionForm):
    groups = (
        FieldGroup("Language", ("locale",)),
        FieldGroup("Money and distances", ("currency", "distance_unit")),
    )
    locale = forms.ChoiceField(label="Language of numbers and dates")
    currency = forms.ChoiceField(label="Currency")

    class Meta:
        model = Profile
        fields = ["locale", "currency", "distance_unit"]
        labels = {"distance_unit": "Distances"}
        help_texts = {
            "distance_unit": "For drives, odometers, and travel rates.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        practice = self.instance
        locale, currency, unit = (self.fields[name] for name in ("locale", "currency", "distance_unit"))
        locale.choices = language_choices(practice.country, practice.locale)
        locale.help_text = (
            "How numbers and dates are written, on pages and on papers. You can choose a different one for"
            " a client. Other words stay English."
        )
        currency.choices = currency_choices(practice.country, practice.currency)
        currency.help_text = "The currency of every amount in the book."
        if has_entries():
            currency.disabled = unit.disabled = True
            fixed = " Fixed, because the book has work, drives, or stock."
            currency.help_text += fixed
            unit.help_text += fixed


def has_entries() -> bool:
    """Whether the book has amounts or distances: then currency, unit and costing can no longer change."""
    return any(model.objects.exists() for model in (Work, Movement, Leg, Reading, FootRecord))
