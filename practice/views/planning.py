"""What to order and why, and what to load for a day."""

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from practice.actions.loading import take_along
from practice.actions.ordering import order_suggested
from practice.lib.errors import RuleBroken
from practice.lib.pages import GET_OR_POST, day_of
from practice.lib.pdf import PdfUnavailable, render_pdf
from practice.lib.profile import Profile
from practice.lib.things import do
from practice.lib.today import today
from practice.reports.load_list import load_list
from practice.reports.planner import plan_on
from practice.reports.reason import reason_for
from stock.models import Item


@GET_OR_POST
def plan(request: HttpRequest) -> HttpResponse:
    """What to order now; POST makes one order per supplier of what is ticked."""
    if request.method == "POST":
        return put_on_orders(request, {int(key) for key in request.POST.getlist("item") if key.isdigit()})
    context = {"plan": plan_on(today()), "day": today(), "here": "truck"}
    return render(request, "practice/planning/plan.html", context)


def put_on_orders(request: HttpRequest, items: set[int]) -> HttpResponse:
    """Order what is suggested of these items, and go where the orders are."""
    try:
        orders = order_suggested(items, today())
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect("practice:plan")
    made = ", ".join(order.key for order in orders)
    count = "1 order" if len(orders) == 1 else f"{len(orders)} orders"
    messages.success(request, f"{count} written down, {made}. Look them over, then send them.")
    return redirect(orders[0].get_absolute_url() if len(orders) == 1 else "stock:order-list")


@GET_OR_POST
def why(request: HttpRequest, pk: int) -> HttpResponse:
    """Why an item is to be ordered, or not; POST puts it on an order."""
    item = get_object_or_404(Item.objects.select_related("supplier"), pk=pk)
    if request.method == "POST":
        return put_on_orders(request, {pk})
    context = {"reason": reason_for(item, today()), "item": item, "here": "truck"}
    return render(request, "practice/planning/why.html", context)


@GET_OR_POST
def load(request: HttpRequest, day: str) -> HttpResponse:
    """What has to go along on a day; POST moves what is ticked from the shop onto its truck."""
    on = day_of(day)
    here = reverse("practice:load-list", args=[day])
    if request.method == "POST":
        ticked = {key for key in request.POST.getlist("take") if key.replace("-", "").isdigit()}
        if not ticked:
            messages.error(request, "Tick what is on the truck now.")
            return redirect(here)
        return do(request, take_along, on, today(), ticked, message="Kept. It is on the truck.", then=here)
    return render(request, "practice/planning/load.html", load_context(request, on))


def load_context(request: HttpRequest, on: date) -> dict:
    loads = load_list(on)
    return {
        "day": on,
        "loads": loads,
        "to_take": sum(len(row.to_take) for row in loads),
        "to_buy": sum(len(row.to_buy) for row in loads),
        "profile": Profile.for_request(request),
        "here": "truck",
    }


@require_GET
def load_document(request: HttpRequest, day: str) -> HttpResponse:
    on = day_of(day)
    context = load_context(request, on)
    paper = context["profile"].home_country.paper
    try:
        content = render_pdf("pdf/load_list.html", context | {"paper": paper.lower()})
    except PdfUnavailable as error:
        messages.error(request, str(error))
        return redirect("practice:load-list", day=day)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="load-list-{on.isoformat()}.pdf"'
    return response
