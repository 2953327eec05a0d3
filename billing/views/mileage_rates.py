"""Mileage rates: what a business mile is worth from which day on, and the source of each rate."""

from collections.abc import Sequence
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from billing.actions.known_rates import known_rate_like
from billing.actions.mileage_rates import save_rate, undo_rate
from billing.forms.mileage import MileageRateForm
from billing.models import MileageRate
from billing.rules.mileage_rates import Tier, rate_parts
from billing.tables.rates import MileageRateTable
from practice.lib import formats
from practice.lib.countries import MileageScheme, mileage_schemes, rated_schemes
from practice.lib.pages import GET_OR_POST
from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.lib.things import do, form_page, list_page
from practice.lib.today import today
from practice.lib.units import DISTANCE_UNITS

DEFERS = "Rates and rules change. A licensed tax preparer decides what may be claimed."


@require_GET
def mileage_rate_list(request: HttpRequest) -> HttpResponse:
    """The rates of the practice's scheme, or of the one that the address names; today's is the heading."""
    scheme = mileage_schemes()[asked_scheme(request)]
    rates = MileageRate.objects.of_scheme(scheme.name)
    [now] = rate_parts(rates.as_rates(), Period(today(), today()))
    table = MileageRateTable(rates.for_list(today()))
    return list_page(
        request,
        table,
        "billing/mileage_rates/list.html",
        here="money",
        scheme=scheme,
        schemes=[each for each in rated_schemes().values() if each != scheme],
        heading=rates_of_today(now.tiers, scheme, Profile.for_request(request)),
        now=now.tiers,
        carried=any(tier.carried for tier in now.tiers),
        defers=DEFERS,
    )


def rates_of_today(tiers: Sequence[Tier], scheme: MileageScheme, profile: Profile) -> str:
    """Return what a mile or kilometer is worth today, in one sentence."""
    if not tiers:
        return "Actual costs only."
    first, *above = [formats.unit_price(tier.rate, profile.currency, profile.locale) for tier in tiers]
    words = [f"{first} per {DISTANCE_UNITS[scheme.unit].one}"]
    for rate, tier in zip(above, tiers[1:], strict=True):
        words.append(f"{rate} above {formats.quantity(tier.tier_from, profile.locale)}")
    if any(tier.carried for tier in tiers):
        words.append("provisional")
    return f"{', '.join(words)}."


def asked_scheme(request: HttpRequest) -> str:
    asked = request.GET.get("scheme", "")
    return asked if asked in mileage_schemes() else Profile.for_request(request).mileage_scheme


@GET_OR_POST
def mileage_rate_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    rate = get_object_or_404(MileageRate, pk=pk) if pk else None
    scheme = rate.scheme if rate else asked_scheme(request)
    initial = {"scheme": scheme, "valid_from": today()} if rate is None else None
    acts = []
    if rate and not rate.from_program:
        label = "Undo my changes" if known_rate_like(rate) else "Delete"
        acts.append({"url": reverse("billing:mileage-rate-back", args=[pk]), "label": label})
    return form_page(
        request,
        partial(MileageRateForm, instance=rate, initial=initial),
        heading=heading_of(rate, Profile.for_request(request)) if rate else "New mileage rate",
        lead=DEFERS,
        back=(list_url(scheme), "Mileage rates"),
        save=lambda form: save_rate(form.save(commit=False)),
        then=lambda row: list_url(row.scheme),
        more_acts=acts,
    )


@require_POST
def mileage_rate_back(request: HttpRequest, pk: int) -> HttpResponse:
    rate = MileageRate.objects.filter(pk=pk).first()
    if rate is None:
        return redirect("billing:mileage-rate-list")
    message = "Undone." if known_rate_like(rate) else "Deleted."
    return do(request, undo_rate, rate, message=message, then=list_url(rate.scheme))


def heading_of(rate: MileageRate, profile: Profile) -> str:
    return f"Mileage rate from {formats.long_date(rate.valid_from, profile.locale)}"


def list_url(scheme: str) -> str:
    return f"{reverse('billing:mileage-rate-list')}?scheme={scheme}"
