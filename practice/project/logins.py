"""Where a login is in use: its sessions, what each is in plain words, and how it ends.

A session notes in its own data on which device it is, since when, and when it was last used. That needs no
table, and goes when the session goes. It is written again at most once in USED_EVERY, not with each page.

A phone that was paired (`practice/project/phone/`) has its name there, too. Its session lasts as long as it
is used: each note puts off its end. Any other session ends when its time is up, used or not.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.models import Session
from django.db import Error, connection
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.crypto import constant_time_compare, salted_hmac

from practice.lib import formats
from practice.lib.devices import LONGEST, device_in_words
from practice.lib.pages import GET_OR_POST
from practice.lib.profile import Profile

# What a session holds of its own: what the browser calls itself, two moments as ISO 8601, a phone's name.
AGENT, SINCE, USED, PHONE = "login_agent", "login_since", "login_used", "login_phone"
USED_EVERY = timedelta(minutes=10)
OTHERS = "others"
PATIENCE_MS = 100


def note_logins(get_response: Callable) -> Callable:
    """Note in each session that it is in use. A page that asks nobody's name is not held up for that."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        session = request.session
        if session.accessed and SESSION_KEY in session and is_due(session, timezone.now()):
            note_use(request, response, timezone.now())
        return response

    return answer


def is_due(session, now: datetime) -> bool:
    """Whether it is time to note again that a session is in use."""
    used = session.get(USED)
    return used is None or not timedelta(0) <= now - datetime.fromisoformat(used) < USED_EVERY


def note_use(request: HttpRequest, response: HttpResponse, now: datetime) -> None:
    """Note that a session is in use, which puts off the end of a phone's. One that was ended stays ended."""
    session, is_saved_anyway = request.session, request.session.modified
    session[AGENT] = agent_of(request)
    session[USED] = now.isoformat(timespec="seconds")
    session.setdefault(SINCE, session[USED])
    if is_saved_anyway:
        return
    lasts = {"expire_date": now + timedelta(seconds=settings.SESSION_COOKIE_AGE)} if PHONE in session else {}
    with suppress(Error), little_patience():  # a full disk or a busy book: the page is answered all the same
        row = Session.objects.filter(session_key=session.session_key)
        if row.update(session_data=session.encode(dict(session.items())), **lasts) and lasts:
            keep_cookie(response, session.session_key)
    session.modified = False


def note_phone(request: HttpRequest, name: str, now: datetime) -> None:
    """Note in a session that begins that it is a phone's, and what the phone is called."""
    moment = now.isoformat(timespec="seconds")
    request.session.update({PHONE: name, SINCE: moment, USED: moment, AGENT: agent_of(request)})


def agent_of(request: HttpRequest) -> str:
    """Return what a browser says of itself, cut to what a session keeps."""
    return request.headers.get("User-Agent", "")[:LONGEST]


def keep_cookie(response: HttpResponse, key: str) -> None:
    """Let a phone keep the cookie of its session as long as the session lasts now."""
    response.set_cookie(
        settings.SESSION_COOKIE_NAME,
        key,
        max_age=settings.SESSION_COOKIE_AGE,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=settings.SESSION_COOKIE_HTTPONLY,
        samesite=settings.SESSION_COOKIE_SAMESITE,
    )


@contextmanager
def little_patience() -> Iterator[None]:
    """Wait for another writer only for a moment: an import may take minutes, and no page waits for that."""
    if connection.vendor != "sqlite":  # there, writers of other rows do not wait for one another
        yield
        return
    with connection.cursor() as cursor:
        [usual] = cursor.execute("PRAGMA busy_timeout").fetchone()
        cursor.execute(f"PRAGMA busy_timeout={PATIENCE_MS}")
        try:
            yield
        finally:
            cursor.execute(f"PRAGMA busy_timeout={usual}")


@dataclass(frozen=True)
class OpenLogin:
    """A session of a login: `key` ends it and stays here, `name` stands for it on pages."""

    key: str
    agent: str
    since: datetime
    used: datetime
    is_this: bool
    phone: str = ""

    @property
    def name(self) -> str:
        return salted_hmac("practice.project.logins", self.key).hexdigest()[:32]

    @property
    def device(self) -> str:
        return device_in_words(self.agent)

    @property
    def title(self) -> str:
        """What it is called: a phone by the name it was given."""
        return self.phone or self.device


def open_logins(user, this_key: str) -> list[OpenLogin]:
    """Return the sessions of a login that a browser can still use, this one first, then by last use.

    One from before a change of the password opens nothing.
    """
    right = user.get_session_auth_hash()
    found = [
        _open_login(session, data, this_key)
        for session, data in _sessions_of(user)
        if constant_time_compare(data.get(HASH_SESSION_KEY, ""), right)
    ]
    return sorted(found, key=lambda login: (login.is_this, login.used), reverse=True)


def _sessions_of(user) -> Iterator[tuple[Session, dict]]:
    """Give the sessions of a login, with their data."""
    for session in Session.objects.filter(expire_date__gt=timezone.now()):
        data = session.get_decoded()
        if data.get(SESSION_KEY) == str(user.pk):
            yield session, data


def _open_login(session: Session, data: dict, this_key: str) -> OpenLogin:
    began = session.expire_date - timedelta(seconds=settings.SESSION_COOKIE_AGE)
    since, used = (datetime.fromisoformat(data[name]) if name in data else began for name in (SINCE, USED))
    key = session.session_key
    is_this = constant_time_compare(key, this_key)
    return OpenLogin(key, data.get(AGENT, ""), since, used, is_this, data.get(PHONE, ""))


def end_logins(user, but: str = "") -> int:
    """End the sessions of a login, except the one with this key; return how many there were."""
    ended = [session.session_key for session, _ in _sessions_of(user) if session.session_key != but]
    Session.objects.filter(session_key__in=ended).delete()
    Session.objects.filter(expire_date__lte=timezone.now()).delete()
    return len(ended)


@GET_OR_POST
def logins(request: HttpRequest) -> HttpResponse:
    """The devices on which one is logged in. A post ends one, by its name in `end`, or all `others`."""
    if request.method == "POST":
        messages.success(request, end_login(request, request.POST.get("end", "")))
        return redirect("logins")
    rows = login_rows(request)
    return render(request, "logins.html", {"this": rows[:1], "others": rows[1:]})


def login_rows(request: HttpRequest) -> list[tuple[OpenLogin, str]]:
    """Return where a login is in use, this device first, each with what is said of it."""
    found = open_logins(request.user, request.session.session_key)
    return [(login, _in_words(login, Profile.for_request(request).locale)) for login in found]


def end_login(request: HttpRequest, chosen: str) -> str:
    """End the session that was chosen by its name, or all `others`; return a sentence that says so."""
    if chosen == OTHERS:
        ended = end_logins(request.user, request.session.session_key)
        return f"Logged out on {formats.counted(ended, 'other device')}."
    for login in open_logins(request.user, request.session.session_key):
        if login.name == chosen and not login.is_this:
            Session.objects.filter(session_key=login.key).delete()
            return f"Logged out there: {login.title}."
    return "That device was already logged out."


def _in_words(login: OpenLogin, locale: str) -> str:
    since = formats.medium_date(timezone.localtime(login.since).date(), locale)
    began = f"{login.device}, paired on {since}." if login.phone else f"Logged in on {since}."
    if login.is_this:
        return f"In use now. {began}"
    return f"Last used {formats.stamp(timezone.localtime(login.used), locale)}. {began}"
