"""Load on a server from outside: requests at planned times, whether or not those before are answered.

The time of an answer counts from when its request was planned, so that a server that stalls cannot hide it.
"""

import http.client
import os
import queue
import re
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urlencode, urlsplit

WORKERS = 32


class Refused(Exception):
    """An answer that was not the one hoped for; the message is its status."""


class FormFields(HTMLParser):
    """The fields of the page's form that posts and has fields, as a browser would post them."""

    def __init__(self, html: str):
        super().__init__()
        self.values: dict[str, list[str]] = {}
        self.area = self.select = None
        last = max(html.rfind('name="opened"'), html.rfind('name="uuid"'))
        begin = html.rindex("<form", 0, last)
        self.feed(html[begin : html.index("</form>", last)])

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        ticked = attrs.get("type") not in ("checkbox", "radio") or "checked" in attrs
        if tag == "input" and "name" in attrs and ticked:
            self.values.setdefault(attrs["name"], []).append(attrs.get("value") or "")
        elif tag == "select":
            self.select = attrs["name"]
        elif tag == "option" and "selected" in attrs:
            self.values[self.select] = [attrs.get("value") or ""]
        elif tag == "textarea":
            self.area = attrs["name"]

    def handle_data(self, data):
        if self.area:
            self.values[self.area], self.area = [data.strip()], None


@dataclass
class Visitor:
    """A login on a server; each thread has a connection of its own."""

    url: str
    cookies: dict[str, str] = field(default_factory=dict)
    local: threading.local = field(default_factory=threading.local)

    def log_in(self, name: str, password: str) -> None:
        page = self.ask("GET", "/login/")[1]
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)[1]
        typed = {"username": name, "password": password, "csrfmiddlewaretoken": token}
        assert self.ask("POST", "/login/", typed)[0] == 302

    def ask(self, method: str, address: str, typed: dict | None = None) -> tuple[int, str]:
        """Return the status and the page of an answer."""
        if not hasattr(self.local, "connection"):
            host = urlsplit(self.url).netloc
            self.local.connection = http.client.HTTPConnection(host, timeout=60)
        head = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        body = None
        if typed is not None:
            body, head["Content-Type"] = urlencode(typed, doseq=True), "application/x-www-form-urlencoded"
        try:
            self.local.connection.request(method, address, body, head)
            answer = self.local.connection.getresponse()
            page = answer.read().decode(errors="replace")
        except (OSError, http.client.HTTPException):
            self.local.connection.close()
            del self.local.connection
            raise
        for cookie in answer.headers.get_all("Set-Cookie") or ():
            name, _, value = cookie.partition(";")[0].partition("=")
            self.cookies[name] = value
        return answer.status, page

    def read(self, address: str) -> str:
        """Return a page. Raises Refused if there is none."""
        status, page = self.ask("GET", address)
        if status != 200:
            raise Refused(f"{status}")
        return page


@dataclass
class Form:
    """A form that is opened, then posted as `fill` fills it in; `opened` are those not posted yet."""

    visitor: Visitor
    addresses: list[str]
    fill: Callable[[dict], dict]
    opened: deque = field(default_factory=deque)
    turn: int = 0
    saved: int = 0

    def open(self) -> None:
        self.turn += 1
        address = self.addresses[self.turn % len(self.addresses)]
        self.opened.append((address, FormFields(self.visitor.read(address)).values))

    def post(self) -> None:
        """Post what was opened longest ago. That it was saved is answered by a redirect."""
        if not self.opened:
            self.open()
            return
        address, values = self.opened.popleft()
        status, page = self.visitor.ask("POST", address, self.fill(values))
        if status != 302:
            said = re.findall(r'class="[^"]*error[^"]*"[^>]*>([^<]*)', page)
            raise Refused(f"{status} {said}")
        self.saved += 1


@dataclass(frozen=True)
class Measured:
    """What a load came to: seconds of each request from its planned time, and what failed.

    The shares of two cores are those of the generator and of the server.
    """

    kinds: list[str]
    seconds: list[float]
    errors: list[str]
    share_of_two_cores: float
    of_the_server: float

    def percentile(self, percent: int, kind: str = "") -> float:
        of_kind = [s for s, name in zip(self.seconds, self.kinds, strict=True) if name == kind or not kind]
        return sorted(of_kind)[max(0, -(-len(of_kind) * percent // 100) - 1)]


def seconds_used(pid: int) -> float:
    """Return the processor time that a process has used (Linux)."""
    used = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[11:13]
    return sum(map(int, used)) / os.sysconf("SC_CLK_TCK")


def put_under_load(
    requests: list[tuple[str, Callable[[], object]]], per_second: int, server: int
) -> Measured:
    """Send requests, each with its kind, at even intervals; return what they took.

    `server` is the key of the process that answers.
    """
    due: queue.SimpleQueue = queue.SimpleQueue()
    taken: list[tuple[str, float]] = []
    errors: list[str] = []

    def work() -> None:
        while (planned := due.get()) is not None:
            at, kind, action = planned
            try:
                action()
            except (OSError, http.client.HTTPException, Refused) as error:
                errors.append(f"{kind}: {type(error).__name__} {error}")
            taken.append((kind, time.perf_counter() - at))

    threads = [threading.Thread(target=work) for _ in range(WORKERS)]
    for thread in threads:
        thread.start()
    began, used, used_there = time.perf_counter(), time.process_time(), seconds_used(server)
    for number, (kind, action) in enumerate(requests):
        at = began + number / per_second
        time.sleep(max(0, at - time.perf_counter()))
        due.put((at, kind, action))
    for _ in threads:
        due.put(None)
    for thread in threads:
        thread.join()
    two_cores = 2 * (time.perf_counter() - began)
    return Measured(
        [kind for kind, _ in taken],
        [seconds for _, seconds in taken],
        errors,
        (time.process_time() - used) / two_cores,
        (seconds_used(server) - used_there) / two_cores,
    )
