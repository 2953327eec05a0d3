"""The first page of the settings: what is chosen now, section by section."""

from decimal import Decimal

from django.urls import reverse

from practice.lib import formats
from practice.lib.choices import TravelRule, ValuationMethod
from practice.lib.list_rows import ListRow
from practice.lib.names import town_of
from practice.lib.profile import Profile
from practice.lib.territories import country_names, currency_names, language_names

NOT_YET = "Not filled in yet."
TRAVEL = {
    TravelRule.NONE: "no travel charge",
    TravelRule.PER_VISIT: "{rate} a visit for travel",
    TravelRule.PER_DISTANCE: "{rate} a {unit} for travel",
    TravelRule.ROUND_TRIP: "{rate} a {unit} for travel, with a share of the way back",
}


def section_rows(profile: Profile) -> list[ListRow]:
    """Return a row for each section of the settings, with what is chosen there."""
    chosen = {
        "who": ("Who you are", who(profile)),
        "billing": ("How you bill", billing(profile)),
        "road": ("The road", road(profile)),
        "vet": ("Your veterinarian", vet(profile)),
        "shelf": ("The shelf", shelf(profile)),
        "language": ("Language and units", language(profile)),
    }
    return [ListRow(reverse(f"practice:settings-{key}"), name, more) for key, (name, more) in chosen.items()]


def who(profile: Profile) -> str:
    country = country_names().get(profile.country, profile.country)
    return ", ".join(filter(None, [profile.name, town_of(profile.address), country])) or NOT_YET


def billing(profile: Profile) -> str:
    style = profile.currency, profile.locale
    rate = formats.price(profile.travel_rate or Decimal(0), *style)
    words = [
        f"{formats.counted(profile.payment_terms_days, 'day')} to pay",
        TRAVEL[profile.travel_rule].format(rate=rate, unit=profile.unit.one),
    ]
    if profile.minimum_call:
        words.append(f"at least {formats.money(profile.minimum_call, *style)} a stop")
    return f"{', '.join(words)}."


def road(profile: Profile) -> str:
    place = "the" if profile.home_is_principal_place_of_business else "not the"
    return f"Home is {place} principal place of business. Mileage rate: {profile.scheme.label}."


def vet(profile: Profile) -> str:
    return ", ".join(filter(None, [profile.vet_name, profile.vet_phone])) or NOT_YET


def shelf(profile: Profile) -> str:
    delivery = formats.counted(profile.lead_time_days, "day")
    between = formats.counted(profile.review_period_days, "day")
    return f"{ValuationMethod(profile.valuation).label}. {delivery} to a delivery, {between} between orders."


def language(profile: Profile) -> str:
    names = [
        language_names().get(profile.locale, profile.locale),
        currency_names().get(profile.currency, profile.currency),
        profile.unit.many,
    ]
    return ", ".join(names)
