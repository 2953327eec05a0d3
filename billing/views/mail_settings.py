"""How mail is sent, and what it says."""

from functools import partial

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from billing.actions.mail_settings import is_set_up, save_mail_settings, send_test
from billing.actions.message_texts import all_texts, is_own, reset_text, set_text
from billing.forms.mail import MailSettingsForm, MessageTextForm
from billing.models import MailSettings, MessageText
from billing.papers.all_kinds import kind_of
from billing.papers.message_kinds import MessageKind, Wording
from billing.rules.wording import fill
from practice.lib.errors import RuleBroken
from practice.lib.list_rows import ListRow
from practice.lib.pages import GET_OR_POST
from practice.lib.presses import answers_anew
from practice.lib.profile import Profile
from practice.lib.things import do, form_page
from practice.lib.today import now


@GET_OR_POST
def mail_page(request: HttpRequest) -> HttpResponse:
    """The mail server, and a test of it."""
    row, profile = MailSettings.current(), Profile.for_request(request)
    initial = None if row else {"from_name": profile.name, "from_address": profile.email}
    return form_page(
        request,
        partial(MailSettingsForm, instance=row, initial=initial),
        heading="Mail",
        lead="How invoices, orders, and reminders are sent by email.",
        back=(reverse("practice:settings"), "Settings"),
        save=lambda form: save_mail_settings(form.save(commit=False), form.cleaned_data["password"]),
        then=reverse("billing:mail-settings"),
        message="Saved. Send yourself a test message to see whether it works.",
        template="billing/messages/settings.html",
        is_set_up=is_set_up(),
        row=row,
    )


@answers_anew
@require_POST
def mail_test(request: HttpRequest) -> HttpResponse:
    """Send a message to oneself, and say how the server answered."""
    try:
        answer = send_test(now())
    except RuleBroken as error:
        messages.error(request, str(error))
    else:
        row = MailSettings.current()
        messages.success(
            request,
            f"{row.host} accepted the test message ({answer}). It should arrive at {row.from_address} soon.",
        )
    return redirect("billing:mail-settings")


@require_GET
def text_list(request: HttpRequest) -> HttpResponse:
    """The wording of each kind of message."""
    rows = [
        ListRow(
            reverse("billing:message-text", args=[kind.code]),
            kind.name,
            more=kind.own_wording().subject,
            fact=f"{days} days" if (days := kind.own_wording().days) else "",
            note="your words" if own else "",
        )
        for kind, own in all_texts()
    ]
    return render(request, "billing/messages/texts.html", {"rows": rows})


@GET_OR_POST
def text_change(request: HttpRequest, kind: str) -> HttpResponse:
    """Change the wording of a kind of message; *Preview* shows it filled in and saves nothing."""
    known = kind_or_404(kind)
    make = partial(MessageTextForm, kind=known, row=MessageText.objects.filter(kind=kind).first())
    context = {
        "heading": known.name,
        "back_url": reverse("billing:message-texts"),
        "back_to": "Wording",
        "is_own": is_own(known),
        "kind": known,
    }
    if request.method == "POST" and "preview" in request.POST:
        form = make(request.POST, profile=Profile.for_request(request))
        preview = (
            preview_of(known, Wording(form["subject"].data, form["text"].data)) if form.is_valid() else None
        )
        return render(request, "billing/messages/text.html", context | {"form": form, "preview": preview})
    return form_page(
        request,
        make,
        heading=context.pop("heading"),
        back=(context.pop("back_url"), context.pop("back_to")),
        save=lambda form: set_text(known, **form.cleaned_data),
        template="billing/messages/text.html",
        preview=preview_of(known, known.own_wording()),
        **context,
    )


def kind_or_404(code: str) -> MessageKind:
    kind = kind_of(code)
    if kind is None:
        raise Http404
    return kind


def preview_of(kind: MessageKind, wording: Wording) -> Wording:
    """Return a wording filled in with examples."""
    examples = kind.examples()
    return Wording(fill(wording.subject, examples), fill(wording.text, examples))


@require_POST
def text_reset(request: HttpRequest, kind: str) -> HttpResponse:
    known = kind_or_404(kind)
    return do(
        request,
        reset_text,
        known,
        message="Original wording restored.",
        then=reverse("billing:message-text", args=[kind]),
    )
