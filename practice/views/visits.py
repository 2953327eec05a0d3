"""A visit: the horses at the place, those due first; what was done to one of them."""

from datetime import date
from functools import partial

from django.contrib import messages
from django.core.exceptions import NON_FIELD_ERRORS
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from practice.actions.findings import mark_findings
from practice.actions.last_time import as_last_time
from practice.actions.materials import return_materials, still_out
from practice.actions.visits import complete_visit, locked_visit
from practice.actions.work import save_work, take_horse_off
from practice.forms.asking_work import TakeOffForm
from practice.forms.returns import ReturnForm
from practice.forms.work import HorseWorkForm
from practice.lib import formats
from practice.lib.addresses import id_of, search_words
from practice.lib.errors import RuleBroken
from practice.lib.list_rows import ListRow
from practice.lib.pages import GET_OR_POST, render_page, round_url
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import today
from practice.models import Horse, Visit
from practice.reports.horse_at_visit import DayPrices, HorseAtVisit, Prices
from practice.reports.horse_taps import taps_data
from practice.reports.horses_at_stop import horses_at, next_horse
from practice.reports.stop import Stop
from practice.reports.taken_off import TakenOff
from practice.rules.horse_work import HorseWork
from practice.views.fetched import get_horse_at, get_visit
from practice.views.times import note_time, time_at_visit

FOUND = 20
# The button that saves a horse as last time.
AGAIN = "again"


@require_GET
def visit_detail(request: HttpRequest, pk: int) -> HttpResponse:
    visit, words = get_visit(pk), search_words(request)
    named = Horse.objects.named(words).select_related("place").order_by("name")[:FOUND] if words else []
    context = {
        "stop": Stop(visit, Profile.for_request(request)),
        "q": words,
        "found": [ListRow(visit.horse_url(row), row.name, str(row.place or "")) for row in named],
        "here": "round",
    }
    return render(request, "practice/visits/detail.html", context)


@require_POST
def visit_complete(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_visit(pk)
    if visit.date > today():
        messages.error(request, "This day is still ahead. Move the stop to today before you mark it done.")
        return redirect(visit)
    leave = time_at_visit(visit)
    message = f"{visit.place} is done."
    return do(request, complete_visit, visit, leave=leave, message=message, then=round_url(visit.date))


@require_POST
def visit_as_last_time(request: HttpRequest, pk: int) -> HttpResponse:
    """Save for the horses that were named what was done to them the last time."""
    visit = get_visit(pk)
    keys = {id_of(key) for key in request.POST.getlist("horse")}
    horses = Horse.objects.filter(pk__in=keys - {None}).order_by("name", "pk")
    message = (
        f"Saved as last time: {formats.listed(horses)}." if horses else "There was nothing left to save."
    )
    return do(request, as_last_time, visit, horses, message=message, then=visit.get_absolute_url())


@GET_OR_POST
def visit_horse(request: HttpRequest, pk: int, horse: int, prices: Prices) -> HttpResponse:
    """One horse at a visit; *Save* opens the next. A tap without JavaScript comes back filled in."""
    visit = get_visit(pk)
    animal = get_horse_at(visit, horse)
    profile, listed = Profile.for_request(request), prices(visit.date, animal, visit.place)
    at = HorseAtVisit(visit, animal, profile)
    if request.method == "GET":
        return show_horse(request, HorseWorkForm(at=at, profile=profile), listed)
    form = HorseWorkForm(request.POST, at=at, profile=profile)
    if AGAIN in request.POST:
        return repeat_horse(request, form, listed)
    if form.was_tapped:
        return show_horse(request, form.after_tap(), listed)
    form, is_saved = save_posted(request, visit, animal, listed)
    if not is_saved:
        return show_horse(request, form, listed)
    return saved_horse(request, at, goes_on=bool(form.state.work))


def saved_horse(request: HttpRequest, at: HorseAtVisit, goes_on: bool = True) -> HttpResponse:
    """Go on to the next horse that waits, else back to the stop, and say so."""
    following = next_horse(horses_at(at.visit, at.horse), at.horse) if goes_on else None
    messages.success(request, f"Saved. {following.horse} is next." if following else "Saved.")
    return redirect(following.url if following else at.visit)


def repeat_horse(request: HttpRequest, form: HorseWorkForm, listed: DayPrices) -> HttpResponse:
    """Save what was done the last time, unless something was typed here: that is never thrown away."""
    at = form.at
    if form.errors.keys() - {NON_FIELD_ERRORS} or form.state != HorseWork():
        if not form.errors:
            form.add_error(None, "Something is entered here already. Save it, or clear it first.")
        return show_horse(request, form, listed)
    try:
        with transaction.atomic():
            as_last_time(at.visit, [at.horse])
            mark_findings(form.newly_marked, form.seen, seen_on(at.visit))
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect(at.visit.horse_url(at.horse))
    note_time(request, at.visit, at.horse)
    return saved_horse(request, at)


@transaction.atomic
def save_posted(
    request: HttpRequest, visit: Visit, horse: Horse, listed: DayPrices
) -> tuple[HorseWorkForm, bool]:
    """Save what was posted, with the visit locked from reading on what is saved now.

    Return the form, and whether it is saved. If not, the form says why: an error, a rule, or a question.
    """
    at = HorseAtVisit(locked_visit(visit), horse, Profile.for_request(request))
    form = HorseWorkForm(request.POST, at=at, profile=at.profile)
    form.prices = listed
    if not form.may_be_saved():
        return form, False
    prices = {item.pk: price for item in at.items.values() if (price := listed.item(item)) is not None}
    try:
        with transaction.atomic():
            save_work(at.visit, horse, *form.rows(), prices)
            mark_findings(form.newly_marked, form.seen, seen_on(visit))
    except RuleBroken as error:
        form.refuse(str(error))
        return form, False
    note_time(request, at.visit, horse)
    return form, True


def seen_on(visit: Visit) -> date:
    """Return the day on which a finding was seen to that is ticked at a visit."""
    return min(visit.date, today())


def show_horse(request: HttpRequest, form: HorseWorkForm, listed: DayPrices) -> HttpResponse:
    """Show the page of a horse, or the form alone where htmx asks."""
    at = form.at
    horses, sheet = horses_at(at.visit, at.horse), form.sheet(listed)
    is_blank = not form.is_bound and form.state == HorseWork() and not form.unread
    context = {
        "visit": at.visit,
        "horse": at.horse,
        "horses": horses,
        "next": next_horse(horses, at.horse),
        "last": at.usual.last,
        "can_repeat": is_blank and at.can_repeat,
        "form": form,
        "sheet": sheet,
        "taps": taps_data(sheet),
        "used": form.with_fields(sheet.used),
        "unused": form.with_fields(sheet.unused),
    }
    return render_page(request, "practice/visits/horse.html", context, partial="practice/visits/_horse.html")


@GET_OR_POST
def visit_horse_remove(request: HttpRequest, pk: int, horse: int) -> HttpResponse:
    """Ask once, then take the horse off the visit."""
    visit, animal = get_visit(pk), get_object_or_404(Horse, pk=horse)

    def make_form(*data, profile: Profile) -> TakeOffForm:
        return TakeOffForm(*data, profile=profile, at=HorseAtVisit(visit, animal, profile))

    return form_page(
        request,
        make_form,
        heading=f"Take {animal} off this visit?",
        lead=TakenOff(visit, animal).lead,
        back=(visit.horse_url(animal), str(animal)),
        save=lambda form: take_horse_off(visit, animal),
        save_label=f"Take {animal} off the visit",
        then=visit.get_absolute_url(),
        message=f"{animal} is off the visit.",
    )


@GET_OR_POST
def visit_return(request: HttpRequest, pk: int) -> HttpResponse:
    """What came back from a visit after its day."""
    visit = get_visit(pk)
    out = still_out(visit)
    lead = (
        "It goes back on the shelf at what it cost. If something was not used at all, change the horse's work"
        " instead."
    )
    return form_page(
        request,
        partial(ReturnForm, out=out, initial={"date": today()}),
        heading=f"What came back from {visit.place}?" if out else "Nothing is left to return.",
        lead=lead if out else "Everything that was used at this visit has come back.",
        back=(visit.get_absolute_url(), "Visit"),
        save=lambda form: return_materials(visit, form.came_back(), **form.destination()),
        save_label="Return to stock",
    )
