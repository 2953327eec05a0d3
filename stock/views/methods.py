"""How stock is valued: the method that the book began with, and those that begin on a day."""

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from practice.lib.choices import ValuationMethod
from practice.lib.pages import GET_OR_POST
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import today
from stock.actions.methods import change_method, method_of, undo_change
from stock.forms.methods import MethodForm
from stock.models import ValuationChange


@GET_OR_POST
def valuation_list(request: HttpRequest) -> HttpResponse:
    """The methods by their days, and the form for the next one."""
    profile = Profile.for_request(request)
    changes, now = ValuationChange.objects.for_list(), method_of(today())
    other = next(method for method in ValuationMethod.values() if method != now)
    return form_page(
        request,
        partial(MethodForm, initial={"valid_from": today(), "method": other}),
        heading="How stock is valued",
        back=(reverse("practice:settings-shelf"), "The shelf"),
        save=lambda form: change_method(form.cleaned_data["valid_from"], form.cleaned_data["method"]),
        then=request.path,
        template="stock/valuation.html",
        changes=[(change, profile.is_closed(change.valid_from)) for change in changes],
        begun_with=ValuationMethod(profile.valuation).label,
        now=ValuationMethod(now).label,
    )


@require_POST
def valuation_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    change = get_object_or_404(ValuationChange, pk=pk)
    return do(request, undo_change, change, message="Undone.", then=reverse("stock:valuation-list"))
