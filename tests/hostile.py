"""Values that nobody types, and requests that carry them: into the keys of addresses, queries and posts."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from html.parser import HTMLParser
from urllib.parse import quote, urlencode, urljoin, urlsplit

from django.contrib.messages import constants
from django.core.handlers.wsgi import WSGIRequest
from django.db import connection, transaction
from django.http import QueryDict

from practice.models import Work
from tests.factories.practice import DAY
from tests.walk import address, pages, routes

LETTERS = "ab" * 30_000
VALUES = [
    "", " ", "abc", "²", "٣", "-1", "0", "1", "2", "1.5", "0.0000001", "1e400", "-0", "NaN", "sNaN",
    "Infinity", "999999999", "999999999.999999", "1000000000", "999999999999", "999999999999999999999",
    "9" * 5_000,
    "2147483648", "9223372036854775807", "9223372036854775808",
    "0001-01-01", "1989-12-31", "9999-12-31", "2026-02-30", "2026-13-01", "9999-12", "0001-01", "9999",
    "24:61", "\0", "a\0b", "\x01\x1b\x7f", "\ud800", "\\ud800", "a\r\nb", "%", "'\"<b>", "..",
    "=1+1", LETTERS,
]  # fmt: skip
CHANGES = re.compile(r'(INSERT|UPDATE|DELETE)\b[^"]*"(practice|stock|billing)_')
NUMBER = re.compile(r"[0-9]+(\.[0-9]+)?")
# What can be read of it is saved, whatever else on it is wrong.
SHEET = "count-sheet"
# What fits in a blank field where a word, a 5 or the first choice does not.
FITTING = {
    "born": "2015",
    "feet_nailed": "4",
    **dict.fromkeys(["LF_angle", "RF_angle", "LH_angle", "RH_angle"], "52"),
    "language": "en-US",
    "new_shoes": "4",
    "share_1": "100",
    **{f"{name}_{number}": "" for name in ("client", "share") for number in (2, 3, 4)},
    "start_odometer": "",
    "end_odometer": "",
    "tax_year": "",
    "logo": "",
    "new_owner": "",
    "new_place": "",
    "receipt": "",
    "photos": "",
    "disposed_on": "",
    "disposed_for": "",
    "valid_to": "",
    "freight": "0",
    "folder": "",
}


@dataclass(frozen=True)
class Sent:
    """A request: `data` is its query or its post, in pairs."""

    method: str
    path: str
    data: tuple[tuple[str, str], ...] = ()
    what: str = ""

    def __str__(self):
        return f"{self.method} {self.path[:80]} {self.what[:80]!r}"

    def by(self, browser):
        encoded = urlencode(self.data, errors="surrogatepass")
        if self.method == "GET":
            return browser.generic("GET", self.path, QUERY_STRING=encoded)
        return browser.generic("POST", self.path, encoded, "application/x-www-form-urlencoded")

    def with_value(self, name: str, values) -> "Sent":
        """Return the request with other values of one field."""
        rest = tuple(pair for pair in self.data if pair[0] != name)
        said = ", ".join(value[:30] for value in values)
        return replace(self, data=(*rest, *((name, value) for value in values)), what=f"{name}={said}")


def hostile_keys(examples: dict[str, object]) -> dict[str, list[Sent]]:
    """Return by route and key: requests with each value in its place, the other keys as they are."""
    found = {}
    for _, route, _ in routes():
        path = address(route, examples)
        for number, (good, part) in enumerate(zip(path.split("/"), f"/{route}".split("/"), strict=True)):
            if not part.startswith("<"):
                continue
            for method in ("GET", "POST"):
                rows = found.setdefault(f"{method} {route} {part}", [])
                for value in (*VALUES, f"{good}{good}", f"0{good}", f"{good}\n"):
                    steps = path.split("/")
                    steps[number] = quote(value, safe="", errors="surrogatepass")
                    rows.append(Sent(method, "/".join(steps), what=value))
    return found


class Noted(QueryDict):
    """A query that keeps the names that were asked for."""

    def __init__(self, *args, asked: set[str] | None = None, **kwargs):
        self.asked = set() if asked is None else asked
        super().__init__(*args, **kwargs)

    def __getitem__(self, name):
        self.asked.add(name)
        return super().__getitem__(name)

    def __contains__(self, name):
        self.asked.add(name)
        return super().__contains__(name)

    def getlist(self, name, default=None):
        self.asked.add(name)
        return super().getlist(name, default)


def names_read(browser, sent: Sent, monkeypatch) -> set[str]:
    """Return the names that the program reads of a request: from its query, or from its post."""
    asked = set()

    def noted(request):
        return Noted(urlencode(sent.data), mutable=True, asked=asked)

    with monkeypatch.context() as patch:
        patch.setattr(WSGIRequest, "GET" if sent.method == "GET" else "POST", property(noted))
        with kept_out_of_the_book():
            sent.by(browser)
    return {name for name in asked if isinstance(name, str)} - {"csrfmiddlewaretoken", "form_token"}


def hostile_queries(browser, examples, monkeypatch) -> dict[str, list[Sent]]:
    """Return by page and parameter that it reads: requests with each value."""
    found = {}
    for path in all_pages(browser, examples):
        parts = urlsplit(path)
        sent = Sent("GET", parts.path, tuple(QueryDict(parts.query).items()))
        for name in names_read(browser, sent, monkeypatch) | dict(sent.data).keys():
            found[f"{path} {name}"] = list(variants(sent, name))
    return found


def hostile_posts(browser, examples, monkeypatch) -> dict[str, list[Sent]]:
    """Return by form and field: posts of valid values with each value in one field."""
    found = {}
    for form in all_forms(browser, examples):
        names = names_read(browser, form, monkeypatch) | dict(form.data).keys()
        for name in sorted(names):
            found.setdefault(f"{form.path} {name}", []).extend(variants(form, name))
        found.setdefault(f"{form.path} numbers", []).extend(large(form))
    return found


def variants(sent: Sent, name: str) -> Iterator[Sent]:
    """Yield the request with each value in one field, with two values, and without the field."""
    for value in VALUES:
        yield sent.with_value(name, [value])
    yield sent.with_value(name, ["1", "2"])
    yield sent.with_value(name, [DAY.isoformat(), "abc"])
    yield replace(sent.with_value(name, []), what=f"without {name}")


def large(form: Sent) -> Iterator[Sent]:
    """Yield the form with each of its numbers as large, or as small, as a field may take it."""
    for number in ("999999999", "999999999.999999", "0.000001"):
        data = [(name, number if NUMBER.fullmatch(value) else value) for name, value in form.data]
        yield replace(form, data=tuple(data), what=f"{number} in all fields")


def all_pages(browser, examples) -> list[str]:
    """Return the addresses of all pages, among them a horse that has work to bill."""
    work = Work.objects.filter(visit__locked=False).first()
    parts = ("root", "practice", "stock", "billing")
    return [
        work.visit.horse_url(work.horse),
        *(path for part in parts for path in pages(browser, examples, part)),
    ]


def all_forms(browser, examples) -> list[Sent]:
    """Return each form of all pages, filled in, once; and an empty post to each other address."""
    forms = {}
    for path in all_pages(browser, examples):
        reader = FormReader(path)
        reader.feed(browser.get(path).content.decode())
        for form in reader.forms if "/~/" not in path else ():  # a phone sends these by itself
            forms.setdefault((form.path, frozenset(name for name, _ in form.data)), form)
    for _, route, name in routes():
        path = address(route, examples)
        if (
            name != "logout"
            and "/~/" not in path
            and not any(urlsplit(form.path).path == path for form in forms.values())
        ):
            forms[path, frozenset()] = Sent("POST", path)
    return [form for form in forms.values() if urlsplit(form.path).path != "/logout/"]


class FormReader(HTMLParser):
    """Reads the forms of a page that post, and fills in what is blank in them with something that fits."""

    def __init__(self, path: str):
        super().__init__()
        self.path, self.forms, self.action = path, [], None
        self.data, self.buttons, self.area, self.choice = [], [], None, None

    def handle_starttag(self, tag, attrs):
        has = {name: value or "" for name, value in attrs}
        if tag == "form" and has.get("method", "").lower() == "post":
            self.action, self.data, self.buttons = urljoin(self.path, has.get("action", "")), [], []
        name = has.get("name", "")
        if self.action is None or (not name and tag != "option"):
            return
        if tag == "input" and has.get("type") == "radio":
            self._radio(name, has.get("value", ""), "checked" in has)
        elif tag == "input" and name not in ("csrfmiddlewaretoken", "form_token"):
            if has.get("type") != "checkbox" or "checked" in has:
                self.data.append((name, has.get("value") or fitting(has)))
        elif tag == "button":
            self.buttons.append((name, has.get("value", "")))
        elif tag == "textarea":
            self.area = name
        elif tag == "select":
            self.choice = [name, ""]
        elif tag == "option" and self.choice and ("selected" in has or not self.choice[1]):
            self.choice[1] = has.get("value") or self.choice[1]

    def _radio(self, name: str, value: str, checked: bool) -> None:
        """Take what is chosen, else the first that is something."""
        known = dict(self.data).get(name)
        if checked or (value and not known):
            self.data = [pair for pair in self.data if pair[0] != name] + [(name, value)]

    def handle_data(self, data):
        if self.area:
            self.data.append((self.area, data.strip()))
            self.area = None

    def handle_endtag(self, tag):
        if tag == "select" and self.choice:
            self.data.append((self.choice[0], FITTING.get(self.choice[0], self.choice[1])))
            self.choice = None
        elif tag == "form" and self.action is not None:
            self.forms.append(Sent("POST", self.action, tuple(self.data)))
            for button in self.buttons:
                self.forms.append(Sent("POST", self.action, (*self.data, button)))
            self.action = None


def fitting(attrs: dict[str, str]) -> str:
    """Return a value for a blank field."""
    if attrs["name"] in FITTING:
        return FITTING[attrs["name"]]
    if attrs.get("type") == "date":
        return DAY.isoformat()
    if attrs.get("inputmode") in ("decimal", "numeric"):
        return "5"
    return (
        "09:30"
        if attrs.get("type") == "time"
        else ""
        if attrs.get("type") in ("hidden", "email")
        else "Words"
    )


class kept_out_of_the_book(transaction.Atomic):  # noqa: N801
    """What is written meanwhile is taken back."""

    def __init__(self):
        super().__init__(using=None, savepoint=True, durable=False)

    def __exit__(self, *error):
        transaction.set_rollback(True)
        super().__exit__(*error)


def content_of_book() -> dict[str, list]:
    """Return all rows of all tables of the program."""
    with connection.cursor() as cursor:
        tables = [
            name
            for name in connection.introspection.table_names(cursor)
            if name.partition("_")[0] in ("practice", "stock", "billing")
        ]
        content = {}
        for name in tables:
            cursor.execute(f'SELECT * FROM "{name}"')
            content[name] = sorted(map(repr, cursor.fetchall()))
    return content


def is_refused(answer) -> bool:
    """Whether an answer says that nothing was saved: a page instead of a redirect, or an error message."""
    if answer.resolver_match and answer.resolver_match.url_name == SHEET:
        return False
    if not answer.headers["Content-Type"].startswith("text/html"):
        return answer.status_code != 200  # the pack of a year
    if answer.status_code == 200:
        # A tap on the page of a horse comes back with a new form; whatever else is a page was not saved.
        form = answer.context and answer.context.get("form")
        return getattr(form, "is_bound", True)
    if answer.status_code != 302:
        return True
    queued = answer.wsgi_request._messages._queued_messages
    return any(message.level >= constants.ERROR for message in queued)


def answers(browser, sent: Sent, then=()) -> Iterator:
    """Yield the answer to a request, and what follows: the answer to a reader who stands by what is odd, the
    page that a saved form leads to, and other pages after that."""
    answer = sent.by(browser)
    yield answer
    form = answer.context and answer.context.get("form") if answer.status_code == 200 else None
    if getattr(form, "asked", None):
        answer = sent.with_value(form.tick_name, [form.tick]).by(browser)
        yield answer
    if sent.method == "POST" and answer.status_code == 302:
        yield browser.get(urljoin(sent.path, answer.headers["Location"]))
        yield from map(browser.get, then)


def faults(browser, requests, caplog, then=()) -> list[str]:
    """Send the requests, each to the same book; return those that failed, or changed what they refused.

    `then` are pages to look at after each that was saved.
    """
    found, before = [], content_of_book()
    for sent in requests:
        caplog.clear()
        written = []

        def note(execute, sql, *rest, written=written):
            written += [sql] if CHANGES.match(sql) else []
            return execute(sql, *rest)

        with kept_out_of_the_book(), connection.execute_wrapper(note):
            seen = list(answers(browser, sent, then))
            broken = [answer for answer in seen if answer.status_code >= 500]
            traces = [repr(record.exc_info[1])[:200] for record in caplog.records if record.exc_info]
            posted = [answer for answer in seen if answer.request["REQUEST_METHOD"] == "POST"]
            if broken or traces:
                found.append(
                    f"{sent}: {[answer.request['PATH_INFO'][:80] for answer in broken]} {traces[:1]}"
                )
            elif written and (not posted or is_refused(posted[-1])) and content_of_book() != before:
                found.append(f"{sent} changed the book")
        browser.cookies.pop("messages", None)
    return found
