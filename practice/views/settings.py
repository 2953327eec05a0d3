"""The practice's settings: a page that leads to the sections, and a page for each."""

from functools import partial

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from practice.forms.how_we_bill import BillingForm
from practice.forms.settings import HomeAndRoadForm, LanguageForm, ShelfForm, VetForm, WhoForm
from practice.lib.list_rows import ListRow
from practice.lib.logo import keep_logo
from practice.lib.pages import GET_OR_POST
from practice.lib.profile import Profile
from practice.lib.things import form_page
from practice.reports.settings_page import section_rows

# Each section: its form, its heading and what it is about.
SECTIONS = {
    "who": (
        WhoForm,
        "Who you are",
        "What your papers say about you.",
    ),
    "billing": (
        BillingForm,
        "How you bill",
        "What invoices ask for, from the next one on.",
    ),
    "road": (HomeAndRoadForm, "The road", "What your drives count as, and where they start."),
    "vet": (VetForm, "Your veterinarian", "Whom you call when a sign is one for the veterinarian."),
    "shelf": (ShelfForm, "The shelf", "When to order, and what your stock is worth."),
    "language": (LanguageForm, "Language and units", "How amounts, dates, and distances are written."),
}


@require_GET
def settings(request: HttpRequest) -> HttpResponse:
    """What is chosen now, section by section, with links to the pages where it is changed."""
    context = {
        "sections": section_rows(Profile.for_request(request)),
        "horse": [
            ListRow(reverse("practice:sign-list"), "Signs", "What a finding is chosen from."),
        ],
        "mail": [
            ListRow(reverse("billing:mail-settings"), "Mail server", "Sends invoices by email."),
            ListRow(reverse("billing:message-texts"), "Wording", "What each kind of message says."),
        ],
        "safe": [
            ListRow(reverse("backup-list"), "Backups", "Copies of the book, and how to go back to one."),
            ListRow(reverse("phone-kept"), "What this phone keeps", "The pages that open without signal."),
        ],
        "login": [
            ListRow(reverse("password"), "Change your password"),
            ListRow(reverse("phones"), "Phones", "Pair a phone, or end one that is lost."),
            ListRow(reverse("logins"), "Where you are logged in", "Your devices, and how to log one out."),
        ],
    }
    return render(request, "practice/settings/list.html", context)


@GET_OR_POST
def settings_section(request: HttpRequest, section: str) -> HttpResponse:
    """A section. A practice begins with who it is: the others wait for that."""
    form, heading, lead = SECTIONS[section]
    practice = Profile.current()
    if section != "who" and not practice.name:
        messages.info(request, "Fill this in first.")
        return redirect("practice:settings-who")
    return form_page(
        request,
        partial(form, instance=practice),
        heading=heading,
        lead=lead,
        back=(reverse("practice:settings"), "Settings"),
        save=save_section,
        template="practice/settings/section.html",
    )


def save_section(form) -> Profile:
    """Save a section, and the logo that came with it."""
    practice = form.save()
    if logo := form.cleaned_data.get("logo"):
        keep_logo(logo)
    return practice
