"""A visit: the horses standing there, due ones first; what was done to one of them; a finding."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from functools import partial

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from practice.actions.materials import return_materials, still_out
from practice.actions.visits import complete_visit
from practice.actions.work import keep_work
from practice.forms.returns import ReturnForm
from practice.forms.visits import FindingForm
from practice.forms.work import FEET, FORE, Bench, Draft
from practice.lib.errors import RuleBroken
from practice.lib.money import round_money
from practice.lib.pages import GET_OR_POST, render_page, round_url
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import today
from practice.models import Foot, Horse, Visit
from practice.reports.due import due_horses
from practice.reports.material_costs import cost_of_visit
from practice.reports.miles import miles_of
from stock.models import Balance, Item, ItemKind, Location
from stock.reports.sizes import size_rows

# What `prices` gives: prices on the visit's date, with `service(pk)` and `item(item)`.
Prices = Callable[[date], object]


@dataclass
class HorseAtStop:
    """A horse of the aisle: how many days over it is when the visit begins, and what is kept of it."""

    horse: Horse
    days: int | None
    done: list[str]
    current: bool = False

    @property
    def is_due(self) -> bool:
        return self.days is not None and self.days >= 0


def aisle(visit: Visit, horse: Horse | None = None) -> list[HorseAtStop]:
    """Return the horses standing at the place, due ones first, with any other that was worked on here."""
    work = list(visit.work.select_related("horse", "service").order_by("pk"))
    uses = visit.materials.values_list("horse", flat=True)
    wanted = {row.horse_id for row in work} | set(uses) | ({horse.pk} if horse else set())
    standing = Horse.objects.filter(place=visit.place_id, status=Horse.Status.ACTIVE)
    rows = due_horses((standing | Horse.objects.filter(pk__in=wanted)).distinct(), before=visit.date)
    done: dict[int, list[str]] = {}
    for row in work:
        done.setdefault(row.horse_id, []).append(str(row.service))
    return [
        HorseAtStop(row.horse, row.days_over(visit.date), done.get(row.horse.pk, []), row.horse == horse)
        for row in rows
    ]


def next_horse(horses: list[HorseAtStop], after: Horse | None = None) -> Horse | None:
    """Return the next horse that is due and has nothing kept yet, beginning after one."""
    names = [row.horse for row in horses]
    start = names.index(after) + 1 if after in names else 0
    turned = horses[start:] + horses[:start]
    waiting = [row for row in turned if not row.done and row.horse != after]
    first = next((row for row in waiting if row.days is None or row.days >= -10), None)
    return first.horse if first else None


def get_visit(pk: int) -> Visit:
    return get_object_or_404(Visit.objects.select_related("place", "vehicle__location"), pk=pk)


@require_GET
def visit_detail(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_visit(pk)
    horses = aisle(visit)
    words = request.GET.get("q", "").strip()
    found = Horse.objects.filter(name__icontains=words).select_related("place").order_by("name")[:20]
    context = {
        "visit": visit,
        "horses": horses,
        "due": sum(row.is_due for row in horses),
        "first": next_horse(horses),
        "q": words,
        "found": found if words else [],
        "legs": visit.legs.select_related("vehicle").order_by("pk"),
        "miles": miles_of([visit.pk]).get(visit.pk),
        "is_today": visit.date == today(),
        "materials_cost": sum(cost_of_visit(visit).values(), Decimal(0)),
        "can_return": visit.materials.filter(movement__isnull=False).exists(),
        "here": "round",
    }
    return render(request, "practice/visits/detail.html", context)


@require_POST
def visit_complete(request: HttpRequest, pk: int) -> HttpResponse:
    visit = get_visit(pk)
    leave = timezone.localtime().time().replace(second=0, microsecond=0) if visit.date == today() else None
    return do(
        request,
        complete_visit,
        visit,
        leave=leave,
        message=f"{visit.place} is done.",
        then=round_url(visit.date),
    )


@GET_OR_POST
def visit_horse(request: HttpRequest, pk: int, horse: int, prices: Prices) -> HttpResponse:
    """One horse at a visit: the short form. Each tap posts and comes back filled in; *Keep* writes down."""
    visit, animal = get_visit(pk), get_object_or_404(Horse, pk=horse)
    profile = Profile.for_request(request)
    bench = Bench(visit, animal, profile)
    if request.method == "GET":
        draft = bench.from_last_time() if "last" in request.GET else bench.from_book()
        return show_horse(request, bench, draft, prices)
    post = request.POST
    draft = bench.from_post(post)
    if "last" in post:
        draft = bench.from_last_time()
    elif "empty" in post:
        draft = Draft()
    elif "pick" in post:
        service = next((row for row in bench.services if str(row.pk) == post["pick"]), None)
        if service:
            bench.pick(draft, service)
    elif "step" in post:
        name, _, by = post["step"].partition(":")
        bench.change(draft, name, -1 if by == "-1" else 1)
    elif "size" in post:
        put_size(bench, draft, post["size"])
    else:
        return keep_horse(request, bench, draft, prices)
    return show_horse(request, bench, draft, prices)


def put_size(bench: Bench, draft: Draft, choice: str) -> None:
    """Put the shoe that was tapped on the size grid on both fore or both hind feet; or take the nail."""
    which, _, key = choice.partition(":")
    item = bench.by_key.get(key)
    if which == "nail":
        draft.nail = item or draft.nail
        return
    pair = FORE if which == "front" else tuple(foot for foot in FEET if foot not in FORE)
    on = [foot for foot in pair if foot in draft.feet] or list(pair)
    for foot in on:
        draft.shoes[foot] = item
    draft.feet = [foot for foot in FEET if foot in draft.feet or foot in on]


def keep_horse(request: HttpRequest, bench: Bench, draft: Draft, prices: Prices) -> HttpResponse:
    visit, horse = bench.visit, bench.horse
    work, materials = bench.rows(draft)
    if not draft.errors:
        listed = prices(visit.date)
        covered = {item.pk: listed.item(item) for item in bench.items}
        item_prices = {key: price for key, price in covered.items() if price is not None}
        try:
            keep_work(visit, horse, work, materials, item_prices)
        except RuleBroken as error:
            draft.errors["form"] = str(error)
    if draft.errors:
        return show_horse(request, bench, draft, prices)
    following = next_horse(aisle(visit), horse) if work else None
    said = f"Kept. {following} is next." if following else "Kept."
    messages.success(request, said)
    if following:
        return redirect("practice:visit-horse", visit.pk, following.pk)
    return redirect("practice:visit-detail", visit.pk)


@dataclass
class FootOnPage:
    """A foot of the form: chosen or not, what the horse came in with, the shoe that goes on."""

    foot: str
    label: str
    on: bool
    worn: bool
    shoe: Item | None


def show_horse(request: HttpRequest, bench: Bench, draft: Draft, prices: Prices) -> HttpResponse:
    visit, horse = bench.visit, bench.horse
    horses = aisle(visit, horse)
    listed = prices(visit.date)
    worn = {use.foot for use in bench.last.materials if use.foot} if bench.last else set()
    on_hand = {
        row.item_id: row.quantity
        for row in Balance.objects.filter(
            location=visit.vehicle.location if visit.vehicle else first_location()
        )
    }
    others = bench.of(*[kind for kind in ItemKind.values if kind not in (ItemKind.SHOE, ItemKind.NAIL)])
    shown = [item for item in draft.others if item not in others] + others
    context = {
        "visit": visit,
        "horse": horse,
        "horses": horses,
        "draft": draft,
        "bench": bench,
        "errors": draft.errors,
        "next": next_horse(horses, horse),
        "services": [(row, listed.service(row.pk)) for row in bench.services],
        "feet": [
            FootOnPage(foot, Foot(foot).label, foot in draft.feet, foot in worn, draft.shoes[foot])
            for foot in FEET
        ],
        "grids": [
            (
                "front",
                "Front shoe",
                size_rows(bench.of(ItemKind.SHOE), on_hand, "front"),
                chosen(draft, FORE),
            ),
            (
                "hind",
                "Hind shoe",
                size_rows(bench.of(ItemKind.SHOE), on_hand, "hind"),
                chosen(draft, FEET[2:]),
            ),
            ("nail", "Nail", size_rows(bench.of(ItemKind.NAIL), on_hand), {draft.nail}),
        ],
        "materials": [
            {
                "item": item,
                "name": f"item_{item.pk}",
                "count": draft.others.get(item, ""),
                "left": on_hand.get(item.pk, 0),
                "price": listed.item(item),
                "error": draft.errors.get(f"item_{item.pk}"),
            }
            for item in shown
        ],
        "nails_left": on_hand.get(draft.nail.pk, 0) if draft.nail else 0,
        "hot": bool(draft.service and draft.service.fitted == "hot"),
        "chemical": any(item.kind in (ItemKind.SEALANT, ItemKind.ADHESIVE) for item in draft.others),
        "total": draft_total(bench, draft, listed),
        "findings": visit.findings.filter(horse=horse).order_by("pk"),
        "is_fixed": visit.is_fixed,
    }
    return render_page(request, "practice/visits/horse.html", context, partial="practice/visits/_horse.html")


def first_location() -> Location | None:
    return Location.objects.order_by("pk").first()


def chosen(draft: Draft, feet: tuple[str, ...]) -> set[Item | None]:
    return {draft.shoes[foot] for foot in feet if foot in draft.feet}


def draft_total(bench: Bench, draft: Draft, listed):
    """Return what the horse's work and materials come to, without travel and tax; None while unclear."""
    trial = replace(draft, errors={})
    work, materials = bench.rows(trial)
    if trial.errors or not work:
        return None
    total = Decimal(0)
    for row in work:
        price = listed.service(row.service.pk) if row.price is None else row.price
        if price is None:
            return None
        total += round_money(row.quantity * price, bench.profile.currency)
    for row in materials:
        price = listed.item(row.item) if row.price is None else row.price
        total += (
            round_money(row.quantity * price, bench.profile.currency) if price is not None else Decimal(0)
        )
    return total


@GET_OR_POST
def finding_add(request: HttpRequest, pk: int, horse: int) -> HttpResponse:
    """Record a sign, as seen."""
    visit, animal = get_visit(pk), get_object_or_404(Horse, pk=horse)

    def save(form):
        Profile.current().check_open(visit.date)
        finding = form.save(commit=False)
        finding.visit, finding.horse = visit, animal
        finding.save()
        return finding

    return form_page(
        request,
        FindingForm,
        heading=f"A finding, {animal}",
        caution=(
            "Pus, heat, a strong pulse, something driven into the foot, a wound, sudden lameness:"
            " call the veterinarian. What is driven in stays in until they say. Recorded as seen, not as a"
            " diagnosis."
        ),
        back=(reverse("practice:visit-horse", args=[pk, horse]), str(animal)),
        save=save,
        save_label="Keep the finding",
    )


@GET_OR_POST
def visit_return(request: HttpRequest, pk: int) -> HttpResponse:
    """What came back from a visit after its day."""
    visit = get_visit(pk)
    out = still_out(visit)

    def save(form):
        data = form.cleaned_data
        return return_materials(
            visit, form.came_back(), on=data["date"], location=data.get("location"), note=data["note"]
        )

    return form_page(
        request,
        partial(ReturnForm, out=out, initial={"date": max(today(), visit.date + timedelta(1))}),
        heading=f"Back from {visit.place}" if out else "Nothing is out.",
        lead="It comes back at what it cost there. What was not used at all is taken off the visit instead."
        if out
        else "Everything that the visit used has come back.",
        back=(reverse("practice:visit-detail", args=[pk]), "Visit"),
        save=save,
        save_label="Take it back in",
    )
