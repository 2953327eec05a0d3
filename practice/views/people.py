"""Clients, places and horses: lists, pages and forms."""

from collections.abc import Callable
from datetime import date
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from practice.actions.horses import set_owners
from practice.forms.people import ClientForm, HorseForm, OwnersForm, PlaceForm
from practice.lib.addresses import search_words
from practice.lib.merges import merged_into
from practice.lib.pages import GET_OR_POST
from practice.lib.profile import Profile
from practice.lib.things import do, form_page, list_page
from practice.lib.today import today
from practice.models import Client, Horse, Place
from practice.reports.asked import horses_to_ask
from practice.reports.due import due_list
from practice.reports.life import life_of_client, life_of_horse
from practice.reports.photos import photos_of
from practice.reports.records import client_record, horse_record, place_record
from practice.reports.shoeing import feet_of
from practice.tables import ClientTable, HorseTable, PlaceTable


def asked(request: HttpRequest, *names: str) -> dict[str, str]:
    """Return what a link filled in for a new row: the named parameters that the address has."""
    return {name: request.GET[name] for name in names if name in request.GET}


@require_GET
def client_list(request: HttpRequest) -> HttpResponse:
    archived = "archived" in request.GET
    shown = Client.objects.for_list(today()).current(archived)
    table = ClientTable(shown.named(search_words(request)))
    context = {"total": shown.count(), "archived": archived, "search": "Find a client", "here": "horses"}
    return list_page(request, table, "practice/clients/list.html", **context)


@require_GET
def client_detail(
    request: HttpRequest, pk: int, owes: Callable[[Client, date, Profile], str]
) -> HttpResponse:
    """A client; `owes` says what is between us on a day, which this part does not know."""
    client = get_object_or_404(Client, pk=pk)
    profile, on = Profile.for_request(request), today()
    context = {
        "record": client_record(client, on, profile),
        "owes": owes(client, on, profile),
        "life": life_of_client(client, on, profile),
        "merged": merged_into(client, on, profile),
        "here": "horses",
    }
    return render(request, "practice/clients/detail.html", context)


@GET_OR_POST
def client_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    client = get_object_or_404(Client, pk=pk) if pk else None
    back = client.get_absolute_url() if client else reverse("practice:client-list")
    return form_page(
        request,
        partial(ClientForm, instance=client, initial={} if client else asked(request, "name")),
        heading=f"{client}" if client else "New client",
        back=(back, "Clients"),
        then=Client.get_absolute_url,
        entry="" if client else "New client",
    )


@require_GET
def place_list(request: HttpRequest) -> HttpResponse:
    archived = "archived" in request.GET
    shown = Place.objects.for_list().current(archived)
    table = PlaceTable(shown.named(search_words(request)))
    context = {"total": shown.count(), "archived": archived, "search": "Find a place", "here": "horses"}
    return list_page(request, table, "practice/places/list.html", **context)


@require_GET
def place_detail(request: HttpRequest, pk: int) -> HttpResponse:
    place = get_object_or_404(Place, pk=pk)
    profile = Profile.for_request(request)
    record = place_record(place, today(), profile)
    context = {"record": record, "merged": merged_into(place, today(), profile), "here": "horses"}
    return render(request, "practice/places/detail.html", context)


@GET_OR_POST
def place_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    place = get_object_or_404(Place, pk=pk) if pk else None
    back = place.get_absolute_url() if place else reverse("practice:place-list")
    return form_page(
        request,
        partial(PlaceForm, instance=place, initial={} if place else asked(request, "name")),
        heading=f"{place}" if place else "New place",
        back=(back, "Places"),
        then=Place.get_absolute_url,
        template="practice/places/form.html",
    )


@require_GET
def due_page(request: HttpRequest) -> HttpResponse:
    """The horses that are due, by place: overdue ones first."""
    due = due_list(today())
    asked = horses_to_ask(due.on, Profile.for_request(request), due.rows)
    return render(request, "practice/horses/due.html", {"due_list": due, "asked": asked, "here": "horses"})


@require_GET
def horse_list(request: HttpRequest) -> HttpResponse:
    """The active horses, or all that were ever in the book."""
    everyone = "all" in request.GET
    shown = Horse.objects.for_list() if everyone else Horse.objects.for_list().active()
    table = HorseTable(shown.named(search_words(request)))
    context = {"total": shown.count(), "everyone": everyone, "search": "Find a horse", "here": "horses"}
    return list_page(request, table, "practice/horses/list.html", **context)


@require_GET
def horse_detail(request: HttpRequest, pk: int) -> HttpResponse:
    horse = get_object_or_404(Horse.objects.select_related("place"), pk=pk)
    profile = Profile.for_request(request)
    record = horse_record(horse, today(), profile)
    context = {
        "record": record,
        "life": life_of_horse(horse, today(), profile),
        "merged": merged_into(horse, today(), profile),
        "photos": photos_of(horse, profile),
        "feet": feet_of(horse, today(), profile),
        "horse": horse,
        "here": "horses",
    }
    return render(request, "practice/horses/detail.html", context)


@GET_OR_POST
def horse_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    horse = get_object_or_404(Horse, pk=pk) if pk else None
    back = horse.get_absolute_url() if horse else reverse("practice:horse-list")
    return form_page(
        request,
        partial(HorseForm, instance=horse, initial={} if horse else asked(request, "name", "place")),
        heading=f"{horse}" if horse else "New horse",
        back=(back, "Horses"),
        then=Horse.get_absolute_url if horse else lambda row: reverse("practice:horse-owners", args=[row.pk]),
    )


@GET_OR_POST
def horse_owners(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a horse its owners from a day on."""
    horse = get_object_or_404(Horse, pk=pk)
    return form_page(
        request,
        partial(owners_form, horse),
        heading=f"Who owns {horse}",
        back=(horse.get_absolute_url(), str(horse)),
        save=lambda form: set_owners(horse, form.cleaned_data["shares"], form.cleaned_data["since"]),
    )


def owners_form(horse: Horse, *data, profile: Profile) -> OwnersForm:
    """Return the form of a horse's owners, filled in with those of today."""
    initial = {"since": profile.today if horse.owners.exists() else None}
    for number, owner in enumerate(horse.owners.on(profile.today)[: OwnersForm.SLOTS], start=1):
        initial |= {f"client_{number}": owner.client_id, f"share_{number}": owner.share}
    return OwnersForm(*data, profile=profile, row=horse, initial=initial)


def archive(model: type) -> Callable:
    """Return the view of the button that archives a row, or restores it."""

    @require_POST
    def view(request: HttpRequest, pk: int) -> HttpResponse:
        row = get_object_or_404(model, pk=pk)
        row.archived = not row.archived
        message = f"{row} is archived." if row.archived else f"{row} is restored from the archive."
        return do(request, row.save, update_fields=["archived"], message=message, then=row.get_absolute_url())

    return view
