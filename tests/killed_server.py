"""A server whose workers are killed in the middle of their work: `python -m tests.killed_server ROUNDS`.

It sets up once and forks a worker for each round. The worker answers a batch of posts through the WSGI
application, and is killed at a seeded moment after one of its answers. Prints each round as a line of JSON.
What a phone may record comes plainly or as a phone's entry, and again in either way.
"""

import json
import os
import random
import signal
import sys
import time
from uuid import uuid4

from tests.project.phone.phones import NOON, recorded

DAY = "2026-10-14"
BATCH = 4
CSRF = "c" * 32
# Longer than most posts take, so that the kill comes before, in and after the one that is under way.
LONGEST_WAIT = 0.03
BY_PHONE = ("client", "payment", "finding")


class Server:
    """The WSGI application with a book to post to, and what says how often a post is in the book."""

    def __init__(self):
        from django.conf import settings
        from django.contrib.auth import get_user_model
        from django.core.wsgi import get_wsgi_application
        from django.test import RequestFactory

        from tests.conftest import session_cookie
        from tests.factories.practice import ClientFactory, HorseFactory, ProfileFactory, VisitFactory
        from tests.factories.stock import ItemFactory, receipt

        self.application = get_wsgi_application()
        ProfileFactory()
        shoe, visit = ItemFactory(), VisitFactory()
        receipt(shoe, "10000")
        payer, horse = ClientFactory(), HorseFactory(place=visit.place)
        session = session_cookie(get_user_model().objects.create_user("farrier"))["value"]
        cookies = f"{settings.SESSION_COOKIE_NAME}={session}; {settings.CSRF_COOKIE_NAME}={CSRF}"
        self.factory = RequestFactory(HTTP_COOKIE=cookies, SERVER_NAME="127.0.0.1")
        self.addresses = {
            "client": "/clients/add/",
            "payment": f"/clients/{payer.pk}/payments/add/",
            "waste": f"/items/{shoe.pk}/waste/",
            "finding": f"/visits/{visit.pk}/horses/{horse.pk}/finding/",
            "expense": "/expenses/add/",
            "order": "/orders/add/",
        }
        self.shoe = shoe

    def batch(self, rng: random.Random) -> list[tuple[str, dict]]:
        """Return posts of seeded kinds; each names itself in a text that it adds."""
        batch = []
        for kind in rng.sample(list(self.addresses), BATCH):
            name = uuid4().hex
            typed = {
                "client": {"name": name, "billing": "per_day"},
                "payment": {"date": DAY, "amount": "20", "method": "cash", "note": name, "right": ""},
                "waste": {"date": DAY, "quantity": "1", "note": name},
                "finding": {"foot": "LF", "zone": "sole", "kind": "red sole", "note": name},
                "expense": {"date": DAY, "amount": "3", "category": "supplies", "note": name},
                "order": {"date": DAY, f"packs_{self.shoe.pk}": "1", "note": name},
            }[kind]
            batch.append((kind, typed | {"uuid": name, "csrfmiddlewaretoken": CSRF}))
        return batch

    def post(self, kind: str, typed: dict, rng: random.Random) -> str:
        """Send a post and return where its answer leads, its status where it leads nowhere."""
        if kind in BY_PHONE and rng.random() < 0.5:
            return self.post_by_phone(kind, typed)
        status, headers, _ = self.answer(self.factory.post(self.addresses[kind], typed))
        return headers.get("Location", status)

    def post_by_phone(self, kind: str, typed: dict) -> str:
        """Send a post as a phone does that recorded it; return where its answer leads, else its code."""
        fields = {name: value for name, value in typed.items() if name not in ("uuid", "csrfmiddlewaretoken")}
        entry = recorded(self.addresses[kind], kind, uuid=typed["uuid"], at=NOON, **fields)
        sent = {"entries": json.dumps({"now": NOON.timestamp() * 1000, "entries": [entry]}), "live": ""}
        status, _, body = self.answer(
            self.factory.post("/phone/entries/", sent, headers={"X-CSRFToken": CSRF})
        )
        if not status.startswith("200"):
            return status
        [said] = json.loads(body)["entries"]
        return said["then"] or said["code"]

    def answer(self, request) -> tuple[str, dict, bytes]:
        answered = []
        body = self.application(
            request.environ, lambda status, headers: answered.append((status, dict(headers)))
        )
        content = b"".join(body)
        body.close()
        [(status, headers)] = answered
        return status, headers, content

    def times_in_the_book(self, batch) -> list[int]:
        """Return how often each post of a batch is in the book."""
        from billing.models import Expense, Payment
        from practice.models import Client, Finding
        from stock.models import Movement, Order

        found = {
            "client": lambda name: Client.objects.filter(name=name),
            "payment": lambda name: Payment.objects.filter(note=name),
            "waste": lambda name: Movement.objects.filter(note=name),
            "finding": lambda name: Finding.objects.filter(note=name),
            "expense": lambda name: Expense.objects.filter(note=name),
            "order": lambda name: Order.objects.filter(note=name),
        }
        return [found[kind](typed["uuid"]).count() for kind, typed in batch]

    def round(self, rng: random.Random) -> dict:
        """Kill a worker in the middle of a batch; return what it had answered, and what was in the book."""
        from django.db import connections

        batch, answers = self.batch(rng), []
        killed_after, wait = rng.randrange(len(batch)), rng.uniform(0, LONGEST_WAIT)
        connections.close_all()  # a connection does not outlive a fork
        reading, writing = os.pipe()
        worker = os.fork()
        if worker == 0:
            for kind, typed in batch:
                os.write(writing, f"{self.post(kind, typed, rng)}\n".encode())
            os._exit(0)
        os.close(writing)
        with os.fdopen(reading) as answered:
            for _ in range(killed_after):
                answers.append(answered.readline().strip())
            time.sleep(wait)
            os.kill(worker, signal.SIGKILL)
            os.waitpid(worker, 0)
            answers += answered.read().split()
        after_the_kill = self.times_in_the_book(batch)
        again = [self.post(kind, typed, rng) for kind, typed in batch]
        return {
            "answers": answers,
            "after_the_kill": after_the_kill,
            "again": again,
            "in_the_end": self.times_in_the_book(batch),
        }


def main(rounds: int) -> None:
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "practice.project.settings")
    django.setup()
    server = Server()
    for seed in range(rounds):
        print(json.dumps(server.round(random.Random(seed))), flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]))
