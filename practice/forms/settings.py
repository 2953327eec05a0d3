"""The practice's settings: a form for each section, its fields in groups, each with what it changes."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django import forms
from django.forms import BoundField
from django.urls import reverse
from django.utils.html import format_html

from practice.lib.countries import mileage_schemes
from practice.lib.form_fields import NumberField, PriceField
from practice.lib.forms import BookModelForm
from practice.lib.here import let_device_fill_in
from practice.lib.logo import LARGEST, clean_logo
from practice.lib.profile import Profile
from practice.lib.territories import country_choices, currency_choices, language_choices, usual_in

UP_TO_A_YEAR = (0, 365)
HUNDRED = Decimal(100)
POSITION = ("home_latitude", "home_longitude")


@dataclass(frozen=True)
class FieldGroup:
    """Fields that belong together, under their heading."""

    heading: str
    fields: tuple[str, ...]


class SectionForm(BookModelForm):
    """A section of the settings. `groups` hold all of its fields."""

    groups: tuple[FieldGroup, ...] = ()

    def parts(self) -> Iterator[tuple[str, list[BoundField]]]:
        """Yield the heading of each group, and its fields that are on this page."""
        for group in self.groups:
            yield group.heading, [self[name] for name in group.fields if name in self.fields]

    def bound(self, name: str, example: str, high: Decimal | None = None) -> None:
        """Let a number be from 0 to `high`."""
        field: NumberField = self.fields[name]
        field.low, field.example = Decimal(0), example
        field.high = field.high if high is None else high


class WhoForm(SectionForm):
    groups = (
        FieldGroup("On your papers", ("name", "address", "phone", "email", "logo")),
        FieldGroup("Numbers", ("registration_number", "tax_id")),
        FieldGroup("Where you work", ("country",)),
    )
    country = forms.ChoiceField(required=False)
    logo = forms.FileField(
        required=False,
        label="Logo",
        help_text="PNG or JPEG, at most 2 MB. Without one, invoices show your initials.",
    )

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

    def clean_logo(self):
        upload = self.cleaned_data["logo"]
        if not upload:
            return None
        try:
            return clean_logo(upload.read(LARGEST + 1))
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None

    def save(self, commit: bool = True) -> Profile:
        """Save the practice. What was usual in its country before becomes what is usual in the new one."""
        before, after = (usual_in(code) for code in (self.initial["country"] or "", self.instance.country))
        if before != after and (self.row is None or not has_entries()):
            for name in ("currency", "locale", "distance_unit", "mileage_scheme"):
                if getattr(self.instance, name) == getattr(before, name):
                    setattr(self.instance, name, getattr(after, name))
        return super().save(commit)


class BillingForm(SectionForm):
    ranges = {
        "payment_terms_days": UP_TO_A_YEAR,
        "free_renail_days": UP_TO_A_YEAR,
        "early_discount_days": UP_TO_A_YEAR,
        "late_fee_after_days": UP_TO_A_YEAR,
    }
    groups = (
        FieldGroup("Invoices", ("pay_note", "invoice_prefix", "payment_terms_days")),
        FieldGroup("Travel", ("travel_rule", "travel_rate", "minimum_call", "travel_taxable")),
        FieldGroup("Lost shoes", ("free_renail_days",)),
        FieldGroup("Paying early", ("early_discount_percent", "early_discount_days")),
        FieldGroup("Paying late", ("late_fee", "late_interest_percent", "late_fee_after_days")),
        FieldGroup("Your own taxes", ("set_aside_percent",)),
    )

    class Meta:
        model = Profile
        fields = [
            "pay_note",
            "invoice_prefix",
            "payment_terms_days",
            "travel_rule",
            "travel_rate",
            "minimum_call",
            "travel_taxable",
            "free_renail_days",
            "early_discount_percent",
            "early_discount_days",
            "late_fee",
            "late_interest_percent",
            "late_fee_after_days",
            "set_aside_percent",
        ]
        field_classes = {"travel_rate": PriceField, "minimum_call": PriceField}
        labels = {
            "pay_note": "How to pay",
            "invoice_prefix": "Invoice numbers begin with",
            "payment_terms_days": "Days to pay",
            "travel_rule": "Travel charge",
            "travel_rate": "Travel rate",
            "minimum_call": "Minimum per stop",
            "travel_taxable": "Travel is taxed",
            "free_renail_days": "Lost shoes put back free, days after your work",
            "early_discount_percent": "Early-payment discount, percent",
            "early_discount_days": "Early-payment discount, days to pay",
            "late_fee": "Late fee",
            "late_interest_percent": "Late interest, percent a year",
            "late_fee_after_days": "Days past due before either is proposed",
            "set_aside_percent": "Set aside for taxes, percent",
        }
        help_texts = {
            "pay_note": "Printed on invoices. One way per line, such as 'By mail: check to …'.",
            "invoice_prefix": "Such as GF for GF-2026-0001. With a new one, numbers begin at 0001.",
            "payment_terms_days": "From an invoice's date to its due date. You can set a different number for"
            " a client.",
            "travel_rule": "The charge for a stop is split equally among the horses you worked on there. By"
            " distance, a stop waits to be billed until its drive is logged; with a share of the way back,"
            " until the drive after the day's last stop is logged, too.",
            "minimum_call": "The least a stop is billed. The difference is charged and taxed like travel.",
            "travel_taxable": "What is taxed (shoes, labor, travel) differs {}. Nothing is taxed until you"
            " check it here, on the service, or on the item. A licensed tax preparer decides.",
            "free_renail_days": "Counted from the last time you nailed a shoe on that horse. A lost shoe is"
            " then proposed at 0; you can still type a price. Leave blank to always charge for it.",
            "early_discount_percent": "Proposed when a payment is short by just that, never taken unasked.",
            "early_discount_days": "After the date of the invoice.",
            "late_fee": "Once for each late invoice, proposed under Money, Owed. Blank: none. Consumer law"
            " comes first: it may cap or forbid it.",
            "late_interest_percent": "Simple interest on what is open. Blank: none.",
            "late_fee_after_days": "0: from the day after the due date.",
            "set_aside_percent": "Of what is left of each quarter, on the page of the year. You choose it; no"
            " tax is calculated.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        rate, taxable, fee = (self.fields[name] for name in ("travel_rate", "travel_taxable", "late_fee"))
        rate.help_text = (
            f"Per visit, or per {self.instance.unit.one}, as you chose above. A place can have its own rate."
        )
        taxable.help_text = taxable.help_text.format(self.instance.home_country.taxed_differently)
        fee.money = True
        self.bound("travel_rate", "0.85")
        self.bound("minimum_call", "60.00")
        self.bound("late_fee", "10.00")
        self.bound("early_discount_percent", "2", HUNDRED)
        self.bound("late_interest_percent", "8", HUNDRED)
        self.bound("set_aside_percent", "25", HUNDRED)

    def clean(self):
        data = super().clean()
        rule, rate = data.get("travel_rule"), data.get("travel_rate")
        if data.get("early_discount_percent") and data.get("early_discount_days") is None:
            self.add_error("early_discount_days", "Type within how many days, such as 10.")
        if rule and rule != "none" and rate is None and "travel_rate" not in self.errors:
            self.add_error("travel_rate", "Type the rate, such as 0.85.")
        return data


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
            "lead_time_days": "For items without a delivery time, of their own or of their supplier.",
            "review_period_days": "What to order looks ahead until a delivery arrives and this many days"
            " more: what you may run short of by then is on it.",
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
    from practice.models import Leg, Reading, Work
    from stock.models import Movement

    return any(model.objects.exists() for model in (Work, Movement, Leg, Reading))
