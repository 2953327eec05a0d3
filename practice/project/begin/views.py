"""The pages from the demo to a book of one's own."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import partial

from django.conf import settings
from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from billing.actions.prices import add_priced_work
from billing.forms.begin import BeginWorkForm
from practice.actions.newcomers import add_client_with_horses
from practice.actions.vehicles import add_vehicle
from practice.forms.begin import BeginClientForm, BeginPracticeForm, BeginVehicleForm
from practice.lib import formats
from practice.lib.errors import RuleBroken
from practice.lib.logo import keep_logo
from practice.lib.pages import GET_OR_POST
from practice.lib.profile import Profile
from practice.lib.territories import guessed_country
from practice.lib.things import save_form
from practice.lib.today import now, today
from practice.models import Horse
from practice.project.begin.own_book import begin_own_book, can_copy
from practice.project.begin.steps import BeginStep, begin_page
from stock.actions.opening import open_shelf
from stock.forms.begin import BeginTruckForm


@GET_OR_POST
def own_book(request: HttpRequest) -> HttpResponse:
    """What becomes of the demo practice when one's own book begins, and the button that does it."""
    if not Profile.for_request(request).is_demo:
        return redirect("begin")
    if request.method == "GET":
        return render(request, "begin/own_book.html", {"is_backed_up": can_copy()})
    try:
        copy = begin_own_book()
    except RuleBroken as error:
        messages.error(request, str(error))
    else:
        path = copy and copy.relative_to(settings.DATA_DIR)
        kept = f" The demo is backed up in the data folder: {path}." if copy else ""
        messages.success(request, f"This is your own book now.{kept}")
    return redirect("begin")


@dataclass(frozen=True)
class StepForm:
    """How a step is filled in: `make(*data, profile=...)` gives its form, `save(form)` what is then said.

    `stays`: the step stays open for more of the same.
    """

    make: Callable[..., Form]
    save: Callable[[Form], str]
    stays: bool = False


@GET_OR_POST
def begin(request: HttpRequest) -> HttpResponse:
    """The five steps of a new book, each with its form; a post fills in one of them."""
    profile = Profile.for_request(request)
    if profile.is_demo:
        return redirect("own-book")
    forms = step_forms(request)
    key, refused = request.POST.get("step", ""), {}
    if key in forms:
        step = forms[key]
        form, said = save_form(request, step.make, step.make(profile=profile).row, step.save)
        if said:
            messages.success(request, said[0])
            return redirect(f"{reverse('begin')}?at={key}" if step.stays else "begin")
        refused[key] = form
    page = begin_page(profile)
    opened = key if refused else request.GET.get("at", "")
    opened = opened if opened in forms else page.first_missing
    shown = []
    for number, step in enumerate(page.steps, start=1):
        form = refused.get(step.key) or forms[step.key].make(profile=profile)
        shown.append(ShownStep(number, step, form, is_open=step.key == opened))
    counted_on = formats.full_date(today() - timedelta(1), profile.locale)
    has_home = profile.begin_put_away or (profile.name and Horse.objects.exists())
    back = (reverse("home"), "Home") if has_home else (reverse("practice:round-today"), "Round")
    context = {"back": back, "page": page, "steps": shown, "counted_on": counted_on}
    return render(request, "begin/begin.html", context)


@dataclass(frozen=True)
class ShownStep:
    """A step on the page, with its form."""

    number: int
    step: BeginStep
    form: Form
    is_open: bool

    @property
    def template(self) -> str:
        return f"begin/_{self.step.key}.html"

    @property
    def look(self) -> str:
        """The class of its button: one main action a page."""
        return "act" if self.is_open else "act-2"


def step_forms(request: HttpRequest) -> dict[str, StepForm]:
    """Return the form of each step by its key."""
    guess = guessed_country(settings.TIME_ZONE, request.headers.get("Accept-Language", ""))
    practice = partial(BeginPracticeForm, instance=Profile.current(), guess=guess)
    forms = {
        "practice": StepForm(practice, save_practice),
        "work": StepForm(BeginWorkForm, save_work_and_prices),
        "truck": StepForm(BeginTruckForm, save_truck),
        "clients": StepForm(BeginClientForm, save_client, stays=True),
        "vehicle": StepForm(BeginVehicleForm, save_vehicle),
    }
    # Fields of the same name stand in several forms of the page.
    return {key: replace(form, make=partial(form.make, auto_id=f"{key}_%s")) for key, form in forms.items()}


def save_practice(form: BeginPracticeForm) -> str:
    row = form.save()
    if form.cleaned_data["logo"]:
        keep_logo(form.cleaned_data["logo"])
    return f"{row} is saved."


def save_work_and_prices(form: BeginWorkForm) -> str:
    rows = add_priced_work(form.cleaned_data["work"])
    return f"{formats.counted(len(rows), 'price')} saved."


def save_truck(form: BeginTruckForm) -> str:
    items = open_shelf(form.cleaned_data["items"], today() - timedelta(days=1))
    return f"{formats.counted(len(items), 'item')} on the truck."


def save_client(form: BeginClientForm) -> str:
    new = form.cleaned_data["new"]
    client = add_client_with_horses(new)
    return f"{client} is saved with {formats.listed(horse.name for horse in new.horses)}."


def save_vehicle(form: BeginVehicleForm) -> str:
    data = form.cleaned_data
    return f"{add_vehicle(data['vehicle'], today(), data['odometer'], now())} is saved."


@require_POST
def begin_put_away(request: HttpRequest) -> HttpResponse:
    """Let the first page no longer ask for what is missing."""
    if Profile.objects.update(begin_put_away=True):
        messages.success(request, "Put away. You can enter what is still missing on its own page.")
        return redirect("home")
    messages.error(request, "Enter the name of your practice first.")
    return redirect("begin")
