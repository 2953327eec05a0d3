"""Two hundred days on the phone, sent with every kind of cut: all is in the book once, as if by hand."""

import json
import random
from contextlib import suppress
from dataclasses import dataclass, field
from threading import Barrier, Thread
from unittest.mock import patch
from uuid import uuid4

import pytest
from django.db import OperationalError, connection, transaction
from django.db.backends.signals import connection_created
from django.test import Client as Browser

from billing.models import Payment
from practice.models import Client, Finding, Horse, PhoneEntry, Place, Reading, Visit, Work
from practice.project.phone import taking, views
from tests.conftest import session_cookie
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
)
from tests.project.phone.phones import recorded, send

RUNS = 200
# So many tries may go wrong, then all go well.
BAD_TRIES, MOST_TRIES = 4, 20


class Killed(BaseException):
    """The server is gone in the middle of a request."""


@dataclass
class Day:
    """What the book has before the day: a stop with three horses, a payer, a truck, named after the run."""

    name: str
    service: object
    visit: Visit = field(init=False)
    horses: list[Horse] = field(init=False)

    def __post_init__(self):
        barn = PlaceFactory(name=f"{self.name} barn")
        self.truck, self.payer = (
            VehicleFactory(name=f"{self.name} truck"),
            ClientFactory(name=f"{self.name} payer"),
        )
        self.visit = VisitFactory(place=barn, date=DAY, vehicle=self.truck)
        self.horses = [HorseFactory(name=f"{self.name} horse {number}", place=barn) for number in range(3)]

    def entries(self, rng: random.Random) -> list[dict]:
        """Return what two phones record in the day, in order: the same for the same seed."""
        stop, number = f"/visits/{self.visit.pk}", rng.randrange(1, 90)
        new_horse, new_barn = (uuid4().hex for _ in range(2))
        work = [
            recorded(f"{stop}/horses/{horse.pk}/", "Work", work=self.service.pk, **self.quantity(number))
            for horse in self.horses
        ]
        findings = [
            recorded(f"{stop}/horses/{horse.pk}/finding/", "Finding", **sign(number)) for horse in self.horses
        ]
        payments = [
            recorded(
                f"/clients/{self.payer.pk}/payments/add/", "Payment", date=DAY, amount=number, method="cash"
            )
        ]
        added = [
            recorded("/clients/add/", "Client", name=f"{self.name} client", billing="per_day"),
            recorded("/places/add/", "Place", name=f"{self.name} new barn", uuid=new_barn),
            recorded(
                "/horses/add/",
                "Horse",
                uuid=new_horse,
                name=f"{self.name} new horse",
                place=f"~{new_barn}",
                cycle_weeks=6,
                status="active",
            ),
            recorded(f"{stop}/horses/~{new_horse}/finding/", "Finding", **sign(number + 1)),
            recorded(f"{stop}/horses/~{new_horse}/", "Work", work=self.service.pk, **self.quantity(1)),
        ]
        prefix = f"v{self.truck.pk}"
        readings = {f"{prefix}-start": 100 + number, f"{prefix}-end": 190 + number}
        last = [
            recorded(f"/round/{DAY}/readings/{self.truck.pk}/", "Readings", **readings),
            recorded(f"{stop}/complete/", "Leave"),
        ]
        some = [each for each in (*work, *findings, *payments) if rng.random() < 0.22]
        rng.shuffle(some)
        some += added if rng.random() < 0.15 else []
        return [*some, *(each for each in last if rng.random() < 0.4)]

    def quantity(self, number: int) -> dict[str, str]:
        return {f"quantity_{self.service.pk}": str(number)}

    def in_the_book(self) -> dict:
        """Return all that the day may have added, without keys and without the day's own name."""
        self.visit.refresh_from_db()
        horses = Horse.objects.filter(name__startswith=f"{self.name} ")
        named = {
            "status": self.visit.status,
            "work": [(row.horse.name, row.quantity) for row in Work.objects.filter(visit=self.visit)],
            "findings": [(row.horse.name, row.note) for row in Finding.objects.filter(visit=self.visit)],
            "payments": [(str(row.amount), "") for row in Payment.objects.filter(client=self.payer)],
            "readings": [(row.at, row.reading) for row in Reading.objects.filter(vehicle=self.truck)],
            "horses": [(horse.name, horse.place.name) for horse in horses],
            "rest": [
                (row.name, "")
                for model in (Client, Place)
                for row in model.objects.filter(name__startswith=f"{self.name} ")
            ],
        }
        text = json.dumps({key: sorted(rows) for key, rows in named.items()}, default=str)
        return json.loads(text.replace(self.name, "Day"))


def sign(number: int) -> dict[str, str]:
    return {"foot": "LF", "zone": "sole", "kind": "red sole", "note": f"sign {number}"}


class Phones:
    """Two phones with what each has not got an answer to, and a server that fails at seeded moments."""

    def __init__(self, rng: random.Random, cookie: dict, entries: list[dict]):
        self.rng, self.cookie = rng, cookie
        cut = rng.randrange(len(entries) + 1) if not has_placeholders(entries) and rng.random() < 0.5 else 0
        self.stores = [entries[:cut], entries[cut:]]

    def browser(self) -> Browser:
        browser = Browser(raise_request_exception=False)
        browser.cookies[self.cookie["name"]] = self.cookie["value"]
        return browser

    def hand_over(self) -> None:
        """Send until both stores are empty."""
        for tries in range(MOST_TRIES):
            waiting = [store for store in self.stores if store]
            if not waiting:
                return
            store, is_good = self.rng.choice(waiting), tries >= BAD_TRIES
            if not is_good and self.rng.random() < 0.25:
                self.send_at_once(store)
            else:
                self.send(store, is_good)
        pytest.fail(f"still on the phones: {self.stores}")

    def send(self, store: list[dict], is_good: bool) -> None:
        """Send some or all; forget those that were answered, unless the answer is lost."""
        parcel = store[: self.rng.randint(1, len(store))]
        parcel = parcel if is_good or self.rng.random() < 0.8 else [*parcel, *parcel]
        answer = None
        with suppress(Killed), self.faults(is_good):
            answer = send(self.browser(), *parcel)
        if answer is not None and answer.status_code == 200 and (is_good or self.rng.random() < 0.7):
            said = {each["uuid"]: each["state"] for each in answer.json()["entries"]}
            assert set(said.values()) == {"saved"}, answer.json()
            store[:] = [each for each in store if each["uuid"] not in said]

    def faults(self, is_good: bool):
        """Return a context in which the server may be killed: before an entry, in it, or after its commit."""
        where = "nowhere" if is_good else self.rng.choice(["nowhere", "before", "within", "after", "busy"])
        left = self.rng.randint(0, 2)

        def failing(real):
            def act(*args, **more):
                nonlocal left
                left -= 1
                if where == "before" and left < 0:
                    raise Killed
                result = real(*args, **more)
                if where in ("within", "after") and left < 0:
                    raise Killed
                if where == "busy" and left < 0:
                    raise OperationalError("database is locked")
                return result

            return act

        if where in ("within", "busy"):
            return patch.object(taking, "replay", failing(taking.replay))
        return patch.object(views, "take", failing(views.take))

    def send_at_once(self, store: list[dict]) -> None:
        """Send the same store by two tabs at the same time; both answers are lost."""
        ready, answers = Barrier(2), []

        def tab():
            try:
                ready.wait()
                answers.append(send(self.browser(), *store).status_code)
            finally:
                connection.close()

        tabs = [Thread(target=tab) for _ in range(2)]
        for each in tabs:
            each.start()
        for each in tabs:
            each.join()
        assert answers == [200, 200]


def has_placeholders(entries: list[dict]) -> bool:
    return "~" in json.dumps(entries)


def enter_by_hand(browser, entries: list[dict]) -> None:
    """Enter each once on its page, as somebody does who reads the keys of the rows off the book."""
    for entry in entries:
        path, fields = entry["path"], {}
        for name, value in entry["fields"]:
            fields[name] = with_key(value)
        answer = browser.post(with_key(path), fields | {"uuid": entry["uuid"]})
        assert answer.status_code == 302, (entry, answer.content)


def with_key(text: str) -> str:
    for model in (Horse, Place):
        for uuid, pk in model.objects.values_list("uuid", "pk") if "~" in text else ():
            text = text.replace(f"~{uuid.hex}", str(pk))
    return text


@pytest.fixture
def quick_commits():
    """Let SQLite wait for no disk: here only requests are killed, not the machine."""

    def hurry(connection, **kwargs):
        if connection.vendor == "sqlite":
            connection.cursor().execute("PRAGMA synchronous = OFF")

    connection.ensure_connection()
    hurry(connection)
    connection_created.connect(hurry)
    yield
    connection_created.disconnect(hurry)
    connection.close()


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_two_hundred_days_are_in_the_book_once_whatever_happened_on_the_way(user, settings, quick_commits):
    settings.TODAY = DAY
    ProfileFactory()
    service = ServiceFactory(name="Trim")
    cookie, seen = session_cookie(user), set()
    browser = Browser()
    browser.cookies[cookie["name"]] = cookie["value"]

    for run in range(RUNS):
        with transaction.atomic():
            of_phones, by_hand = Day(f"P{run}", service), Day(f"H{run}", service)
        entries = of_phones.entries(random.Random(run))
        enter_by_hand(browser, by_hand.entries(random.Random(run)))
        Phones(random.Random(f"faults {run}"), cookie, entries).hand_over()

        assert of_phones.in_the_book() == by_hand.in_the_book(), run
        seen |= {each["title"] for each in entries}

    assert not PhoneEntry.objects.exclude(state="saved").exists()
    assert seen == {"Work", "Finding", "Payment", "Client", "Place", "Horse", "Readings", "Leave"}
