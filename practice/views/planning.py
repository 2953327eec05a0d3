"""What to order and why, and what to load for a day."""

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from practice.actions.loading import take_along
from practice.actions.ordering import order_suggested
from practice.lib.addresses import id_of
from practice.lib.errors import RuleBroken
from practice.lib.pages import GET_OR_POST
from practice.lib.pdf import PdfUnavailable, render_pdf
from practice.lib.profile import Profile
from practice.lib.things import do
from practice.lib.today import today
from practice.reports.load_list import LoadPage, load_list
from practice.reports.planner import plan_on
from practice.reports.reason import reason_for
from stock.models import Item


@GET_OR_POST
def plan(request: HttpRequest) -> HttpResponse:
    """What to order now; POST makes one order per supplier of what is checked."""
    if request.method == "POST":
        keys = {id_of(key) for key in request.POST.getlist("item")}
        return put_on_orders(request, keys - {None})
    return render(request, "practice/planning/plan.html", {"plan": plan_on(today()), "here": "truck"})


def put_on_orders(request: HttpRequest, items: set[int]) -> HttpResponse:
    """Order what is suggested of these items, and go where the orders are."""
    try:
        orders = order_suggested(items, today())
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect("practice:plan")
    if len(orders) == 1:
        messages.success(request, "Saved 1 order. Review it, then send it to the supplier.")
        return redirect(orders[0].get_absolute_url())
    messages.success(request, f"Saved {len(orders)} orders. Review them, then send them to the suppliers.")
    return redirect("stock:order-list")


@GET_OR_POST
def why(request: HttpRequest, pk: int) -> HttpResponse:
    """Why an item is to be ordered, or not; POST puts it on an order."""
    item = get_object_or_404(Item.objects.select_related("supplier"), pk=pk)
    if request.method == "POST":
        return put_on_orders(request, {pk})
    reason = reason_for(item, today())
    return render(request, "practice/planning/why.html", {"reason": reason, "item": item, "here": "truck"})


@GET_OR_POST
def load(request: HttpRequest, day: date) -> HttpResponse:
    """What has to go along on a day; POST moves what is checked from the shop onto its truck."""
    if request.method == "POST":
        return load_checked(request, day)
    page = LoadPage(day, load_list(day, today()))
    return render(request, "practice/planning/load.html", {"page": page, "here": "truck"})


def load_checked(request: HttpRequest, on: date) -> HttpResponse:
    here = reverse("practice:load-list", args=[on.isoformat()])
    checked = set(request.POST.getlist("take"))
    if not checked:
        messages.error(request, "Check at least one item that you loaded.")
        return redirect(here)
    return do(request, take_along, on, today(), checked, message="Saved. It is on the truck.", then=here)


@require_GET
def load_document(request: HttpRequest, day: date) -> HttpResponse:
    """The load list of a day as a PDF."""
    profile, page = Profile.for_request(request), LoadPage(day, load_list(day, today()))
    context = {"page": page, "profile": profile, "paper": profile.home_country.paper.lower()}
    try:
        content = render_pdf("pdf/load_list.html", context)
    except PdfUnavailable as error:
        messages.error(request, str(error))
        return redirect("practice:load-list", day=day)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="load-list-{day.isoformat()}.pdf"'
    return response
