"""Fifty requests a second for two minutes, as a practice makes them, at the server of the demo practice."""

import os
import random
import re
from collections import Counter
from datetime import date, timedelta

import pytest

from billing.models import Payment
from practice.models import Work
from tests.benchmarks.load import Form, Visitor, put_under_load
from tests.processes import free_port, run_command, started

pytestmark = pytest.mark.benchmark
TODAY = date(2026, 11, 26)
PER_SECOND, SECONDS = 50, int(os.environ.get("LOAD_SECONDS", 120))
LISTS = [
    "/horses/",
    "/truck/",
    "/money/",
    "/invoices/",
    "/payments/",
    "/clients/",
    "/road/log/",
    "/expenses/",
]
TRIM = 1  # the demo practice's first service
# How often each kind of request comes, in a hundred.
MIX = {
    "round": 25,
    "home": 10,
    "list": 26,
    "horse, opened": 16,
    "horse, saved": 12,
    "payment, opened": 5,
    "payment, saved": 5,
    "PDF": 1,
}


@pytest.fixture
def served(empty_book, tmp_path):
    """The demo practice in a folder of its own, and the server over it."""
    book = empty_book.copied_to(tmp_path / "load")
    login = {"ROUNDBOOK_USER": "farrier", "ROUNDBOOK_PASSWORD": "six nails a shoe"}
    variables = {"ROUNDBOOK_DATA": book.folder, "ROUNDBOOK_TODAY": TODAY.isoformat(), **login}
    assert run_command("demo", "--seed", "7", **variables).returncode == 0
    with started("--port", free_port(), **variables) as server:
        yield book, server


def links(visitor: Visitor, address: str, pattern: str) -> list[str]:
    """Return the addresses that a page links to and that match a pattern, each once."""
    return list(dict.fromkeys(re.findall(rf'href="({pattern})"', visitor.read(address))))


def trimmed(values: dict) -> dict:
    """Fill in the form of a horse: what was done stays, or else it was a trim."""
    trim = {"work": TRIM, f"quantity_{TRIM}": "1", f"price_{TRIM}": "", f"note_{TRIM}": ""}
    return ({} if values.get("work") else trim) | values | {"save": "1"}


def of_five_dollars(values: dict) -> dict:
    return values | {"amount": "5.00"}


def test_two_minutes_of_fifty_requests_a_second(served, record_property):
    book, server = served
    visitor, taken = Visitor(server.url), random.Random(7)
    visitor.log_in("farrier", "six nails a shoe")
    rounds = [f"/round/{TODAY + timedelta(days=ahead)}/" for ahead in range(8)]
    visits = [visit for day in rounds for visit in links(visitor, day, r"/visits/\d+/")]
    horses = [horse for visit in visits for horse in links(visitor, visit, r"/visits/\d+/horses/\d+/")]
    clients = links(visitor, "/clients/", r"/clients/\d+/")
    papers = [f"{invoice}pdf/" for invoice in links(visitor, "/invoices/", r"/invoices/\d+/")]
    horse = Form(visitor, horses, trimmed)
    payment = Form(visitor, [f"{client}payments/add/" for client in clients], of_five_dollars)

    def read(addresses: list[str]):
        return lambda: visitor.read(taken.choice(addresses))

    actions = {
        "round": read(rounds),
        "home": read(["/"]),
        "list": read(LISTS),
        "horse, opened": horse.open,
        "horse, saved": horse.post,
        "payment, opened": payment.open,
        "payment, saved": payment.post,
        "PDF": read(papers),
    }
    kinds = taken.choices(list(MIX), list(MIX.values()), k=PER_SECOND * SECONDS)
    with book.opened():
        before = Payment.objects.count()

    measured = put_under_load([(kind, actions[kind]) for kind in kinds], PER_SECOND, server.process.pid)

    record_property("load", (measured, f"{len(kinds):,} requests, {PER_SECOND} a second"))
    assert Counter(measured.errors) == Counter()
    with book.opened():
        assert Payment.objects.count() == before + payment.saved
        assert Work.objects.exists() and horse.saved > 0
