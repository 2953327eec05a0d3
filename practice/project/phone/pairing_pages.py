"""The pages of pairing: the list of phones, and on the phone trusting this computer and giving the code."""

from dataclasses import dataclass

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET

from practice.lib import formats
from practice.lib.devices import phone_in_words
from practice.lib.errors import RuleBroken
from practice.lib.pages import GET_OR_POST
from practice.lib.presses import answers_anew
from practice.lib.profile import Profile
from practice.lib.qr import QrDrawing, qr_of
from practice.models import PairingCode
from practice.project.logins import end_login, login_rows, note_phone
from practice.project.phone.pairing import in_groups, make_code, open_code, use_code
from practice.project.phone.pairing_forms import PairForm
from practice.project.phone.reach import PairingAddress, how_phones_reach

BACKEND = "django.contrib.auth.backends.ModelBackend"
DAYS_UNUSED = settings.SESSION_COOKIE_AGE // (24 * 60 * 60)
PAIRED = f"This phone is paired. Use it at least once in {DAYS_UNUSED} days to keep it paired."


@GET_OR_POST
def phones(request: HttpRequest) -> HttpResponse:
    """The phones that are paired, and how to pair one. A post makes a code, or ends a phone by its name."""
    now = timezone.now()
    reach, code = how_phones_reach(now), open_code(request.user, now)
    if request.method == "POST":
        if "end" in request.POST:
            messages.success(request, end_login(request, request.POST["end"]))
        elif reach:
            make_code(request.user, now)
        return redirect(request.get_full_path())
    if request.htmx and code:  # the page asks whether its code was used
        return HttpResponse(status=204)
    place = reach and reach.chosen(by_address=request.GET.get("by") == "address")
    context = {
        "phones": [(login, words) for login, words in login_rows(request) if login.phone],
        "days_unused": DAYS_UNUSED,
        "reach": reach,
        "place": place,
        "trust_qr": place and qr_of(place.trust),
        "code": place and code and ShownCode.of(code, place, Profile.for_request(request).locale),
    }
    return render(request, "phone/phones.html", context)


@dataclass(frozen=True)
class ShownCode:
    """A code as the computer shows it: in groups, and as what the phone scans."""

    text: str
    qr: QrDrawing
    until: str

    @classmethod
    def of(cls, code: PairingCode, place: PairingAddress, locale: str) -> "ShownCode":
        ends = timezone.localtime(code.ends_at).time()
        return cls(in_groups(code.code), qr_of(place.pair_with(code.code)), formats.clock(ends, locale))


@login_not_required
@require_GET
def phone_trust(request: HttpRequest) -> HttpResponse:
    """How a phone trusts the practice's authority. Public, so it shows nothing of the book."""
    reach = how_phones_reach(timezone.now())
    if not (request.is_secure() and reach and reach.fingerprint):
        return redirect("phone-pair")
    return render(request, "phone/trust.html", {"fingerprint": reach.fingerprint})


@login_not_required
@require_GET
def phone_authority(request: HttpRequest) -> HttpResponse:
    """The certificate that a phone is asked to trust, without its key."""
    reach = how_phones_reach(timezone.now())
    if not (request.is_secure() and reach and reach.fingerprint):
        return redirect("phone-pair")
    from practice.project.serving.authority import practice_authority

    certificate = practice_authority(timezone.now()).der
    headers = {"Content-Disposition": 'attachment; filename="roundbook.crt"'}
    return HttpResponse(certificate, "application/x-x509-ca-cert", headers=headers)


@login_not_required
@answers_anew
@sensitive_post_parameters("pairing_code")
@GET_OR_POST
def phone_pair(request: HttpRequest) -> HttpResponse:
    """Lets a phone in by its code, with a login of its own."""
    profile = Profile.for_request(request)
    if request.method == "GET":
        agent = request.headers.get("User-Agent", "")
        proposed = {"pairing_code": request.GET.get("pairing_code", "")[:20], "name": phone_in_words(agent)}
        return render(request, "phone/pair.html", {"form": PairForm(profile=profile, initial=proposed)})
    form = PairForm(request.POST, profile=profile)
    if form.is_valid() and let_in(request, form):
        messages.success(request, PAIRED)
        return redirect("home")
    return render(request, "phone/pair.html", {"form": form})


def let_in(request: HttpRequest, form: PairForm) -> bool:
    """Log a phone in, in a session of its own that bears its name; return whether its code was right."""
    now = timezone.now()
    try:
        user = use_code(form.cleaned_data["pairing_code"], now)
    except RuleBroken as error:
        form.add_error("pairing_code", str(error))
        return False
    request.session.flush()
    login(request, user, backend=BACKEND)
    note_phone(request, form.cleaned_data["name"], now)
    return True
