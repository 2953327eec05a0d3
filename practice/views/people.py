"""Clients, places and horses: lists, pages and forms."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from practice.actions.horses import set_owners
from practice.forms.people import ClientForm, HorseForm, OwnersForm, PlaceForm
from practice.lib.pages import GET_OR_POST, search_words
from practice.lib.profile import Profile
from practice.lib.things import do, form_page, list_page
from practice.lib.today import today
from practice.models import Client, Horse, Place
from practice.reports.due import due_horses, due_places
from practice.reports.history import past_visits
from practice.reports.material_costs import cost_of_horse
from practice.reports.miles import miles_by_year, visits_of_client, visits_of_horse
from practice.tables import ClientTable, HorseTable, PlaceTable


@require_GET
def client_list(request: HttpRequest) -> HttpResponse:
    archived = "archived" in request.GET
    shown = Client.objects.for_list(today()).current(archived)
    table = ClientTable(shown.named(search_words(request)))
    context = {"total": shown.count(), "archived": archived, "search": "Find a client", "here": "horses"}
    return list_page(request, table, "practice/clients/list.html", **context)


@require_GET
def client_detail(request: HttpRequest, pk: int) -> HttpResponse:
    client = get_object_or_404(Client, pk=pk)
    now = today()
    horses = Horse.objects.filter(pk__in=client.shares.on(now).values("horse"))
    context = {
        "client": client,
        "horses": due_horses(horses),
        "years": miles_by_year(visits_of_client(client), now, Profile.for_request(request)),
        "today": now,
        "here": "horses",
    }
    return render(request, "practice/clients/detail.html", context)


@GET_OR_POST
def client_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    client = get_object_or_404(Client, pk=pk) if pk else None
    back = reverse("practice:client-detail", args=[pk]) if pk else reverse("practice:client-list")
    return form_page(
        request,
        partial(ClientForm, instance=client),
        heading=f"{client}" if client else "A new client",
        back=(back, "Clients"),
        then=lambda row: reverse("practice:client-detail", args=[row.pk]),
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
    now = today()
    context = {
        "place": place,
        "horses": due_horses(place.horses.active()),
        "coming": place.visits.planned().filter(date__gte=now).order_by("date", "pk")[:5],
        "past": place.visits.done().order_by("-date", "-pk")[:10],
        "years": miles_by_year(place.visits.all(), now, Profile.for_request(request)),
        "today": now,
        "here": "horses",
    }
    return render(request, "practice/places/detail.html", context)


@GET_OR_POST
def place_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    place = get_object_or_404(Place, pk=pk) if pk else None
    back = reverse("practice:place-detail", args=[pk]) if pk else reverse("practice:place-list")
    return form_page(
        request,
        partial(PlaceForm, instance=place),
        heading=f"{place}" if place else "A new place",
        back=(back, "Places"),
        then=lambda row: reverse("practice:place-detail", args=[row.pk]),
    )


@require_GET
def due_list(request: HttpRequest) -> HttpResponse:
    """The horses that are due, by place: over their date first."""
    now = today()
    places = due_places(now)
    new = [row for row in due_horses() if row.due is None]
    late = sum(row.days_over(now) > 0 for place in places for row in place.horses)
    context = {"places": places, "new": new, "late": late, "today": now, "here": "horses"}
    return render(request, "practice/horses/due.html", context)


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
    [due] = due_horses(Horse.objects.filter(pk=pk))
    past = past_visits(horse, limit=12)
    costs = cost_of_horse(horse, [row.visit.pk for row in past])
    year_ago = today() - timedelta(days=365)
    context = {
        "horse": horse,
        "costs": costs,
        "cost_of_year": sum((costs.get(r.visit.pk, 0) for r in past if r.date > year_ago), Decimal(0)),
        "due": due,
        "days": due.days_over(today()),
        "today": today(),
        "owners": horse.owners.select_related("client").order_by("valid_from", "pk"),
        "past": past,
        "years": miles_by_year(visits_of_horse(horse), today(), Profile.for_request(request)),
        "findings": horse.findings.select_related("visit").order_by("-visit__date", "-pk")[:10],
        "here": "horses",
    }
    return render(request, "practice/horses/detail.html", context)


@GET_OR_POST
def horse_change(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    horse = get_object_or_404(Horse, pk=pk) if pk else None
    back = reverse("practice:horse-detail", args=[pk]) if pk else reverse("practice:horse-list")
    initial = {} if pk else {"place": request.GET.get("place"), "name": request.GET.get("name")}
    return form_page(
        request,
        partial(HorseForm, instance=horse, initial=initial),
        heading=f"{horse}" if horse else "A new horse",
        back=(back, "Horses"),
        then=lambda row: reverse("practice:horse-detail" if pk else "practice:horse-owners", args=[row.pk]),
    )


@GET_OR_POST
def horse_owners(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a horse its owners from a day on."""
    horse = get_object_or_404(Horse, pk=pk)
    now = today()
    initial = {"since": now if horse.owners.exists() else None}
    for number, owner in enumerate(horse.owners.on(now)[: OwnersForm.SLOTS], start=1):
        initial |= {f"client_{number}": owner.client_id, f"share_{number}": owner.share}
    return form_page(
        request,
        partial(OwnersForm, initial=initial),
        heading=f"Who owns {horse}",
        back=(reverse("practice:horse-detail", args=[pk]), str(horse)),
        save=lambda form: set_owners(horse, form.cleaned_data["shares"], form.cleaned_data["since"]),
    )


def archive(model: type, url_name: str) -> Callable:
    """Return the view of the button that archives a row, or takes it out of the archive."""

    @require_POST
    def view(request: HttpRequest, pk: int) -> HttpResponse:
        row = get_object_or_404(model, pk=pk)
        row.archived = not row.archived
        said = f"{row} is in the archive." if row.archived else f"{row} is back."
        return do(
            request, row.save, update_fields=["archived"], message=said, then=reverse(url_name, args=[pk])
        )

    return view


@require_GET
def find(request: HttpRequest) -> HttpResponse:
    """Find a horse, client or place by its name."""
    words = request.GET.get("q", "").strip()
    context = {"q": words, "here": "horses"}
    if words:
        context |= {
            "horses": Horse.objects.filter(name__icontains=words)
            .select_related("place")
            .order_by("name")[:20],
            "clients": Client.objects.filter(name__icontains=words).order_by("name")[:20],
            "places": Place.objects.filter(name__icontains=words).order_by("name")[:20],
        }
    return render(request, "practice/find.html", context)
