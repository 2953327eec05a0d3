"""Forms speak our own words, whatever the framework would say."""

from datetime import date
from decimal import Decimal

import pytest
from django import forms

from practice.lib.form_fields import PriceField
from practice.lib.forms import BookForm, BookModelForm, DayField, NumberField
from practice.lib.profile import Profile
from practice.models import Vehicle

CHOICES = [("", "---------"), ("hot", "Hot"), ("cold", "Cold")]


class ShoeForm(BookForm):
    name = forms.CharField(max_length=5)
    size = forms.IntegerField(min_value=0, max_value=9)
    price = NumberField(money=True, example="4.50")
    fitted = forms.ChoiceField(choices=CHOICES, required=False)
    made = forms.ChoiceField(choices=CHOICES)


@pytest.mark.parametrize(
    ("typed", "errors"),
    [
        ({"name": "Front left"}, {"name": ["Type at most 5 characters."]}),
        ({"name": ""}, {"name": ["This cannot be blank."]}),
        ({"name": "a\x07"}, {"name": ["This has a character that cannot be saved. Type it again."]}),
        ({"name": "a\x00"}, {"name": ["This has a character that cannot be saved. Type it again."]}),
        ({"size": "-1"}, {"size": ["Type a number of at least 0."]}),
        ({"size": "10"}, {"size": ["Type a number up to 9."]}),
        ({"size": "two"}, {"size": ["Type a whole number, such as 14."]}),
        ({"price": "1.005"}, {"price": ["Type a number with at most 2 decimals, such as 4.50."]}),
        ({"made": "warm"}, {"made": ["Choose one from the list."]}),
        ({}, {}),
    ],
)
def test_an_error_says_what_to_type(typed, errors):
    good = {"name": "Front", "size": "2", "price": "4.50", "made": "hot"}

    assert ShoeForm(good | typed, profile=Profile(currency="USD")).errors == errors


def test_one_decimal_and_no_decimals_are_named_as_such():
    messages = []
    for places in (0, 1):
        with pytest.raises(forms.ValidationError) as refused:
            NumberField(places=places, example="3").clean("3.25")
        messages += refused.value.messages

    assert messages == [
        "Type a whole number, such as 3.",
        "Type a number with at most 1 decimal, such as 3.",
    ]


@pytest.mark.parametrize(
    ("field", "currency", "locale", "value", "shown"),
    [
        (NumberField(money=True), "USD", "en-US", "3.4", "3.40"),
        (PriceField(), "USD", "en-US", "3.4", "3.40"),
        (PriceField(), "USD", "en-US", "0.085", "0.085"),
        (PriceField(), "EUR", "de-DE", "1234", "1234,00"),
        (PriceField(), "JPY", "en-US", "340", "340"),
        (NumberField(), "USD", "en-US", "3.4", "3.4"),
    ],
)
def test_an_amount_in_a_field_keeps_its_digits(field, currency, locale, value, shown):
    field.profile = Profile(currency=currency, locale=locale)

    assert field.prepare_value(Decimal(value)) == shown


def test_no_choice_is_named_in_words():
    form = ShoeForm(profile=Profile())

    assert [form.fields[name].choices[0] for name in ("fitted", "made")] == [("", "None"), ("", "Choose one")]


def test_a_date_of_a_model_is_asked_for_and_refused_like_any_other():
    class InServiceForm(BookModelForm):
        placed_in_service = forms.DateField()

        class Meta:
            model = Vehicle
            fields = ["placed_in_service"]

    profile = Profile()
    profile.today = date(2026, 10, 14)
    form = InServiceForm({"placed_in_service": ""}, profile=profile)

    assert isinstance(form.fields["placed_in_service"], DayField)
    assert form.errors == {"placed_in_service": ["This cannot be blank."]}
