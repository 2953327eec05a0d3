"""Many forms sent at once: each is saved in its turn, and none is turned away because others were saving."""

from threading import Barrier, Thread

import pytest
from django.db import connection
from django.db.backends.signals import connection_created
from django.test import Client as Browser

from billing.models import Payment
from practice.lib.presses import new_press
from tests.conftest import session_cookie
from tests.factories.practice import DAY, ClientFactory, ProfileFactory

WRITERS, EACH = 8, 3


def impatient(connection, **kwargs):
    """Let SQLite wait for another writer no longer than a blink."""
    if connection.vendor == "sqlite":
        connection.cursor().execute("PRAGMA busy_timeout = 20")


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_eight_people_record_payments_at_once_and_each_is_answered(user, settings):
    settings.TODAY = DAY
    ProfileFactory()
    clients = [ClientFactory() for _ in range(3)]
    cookie, ready, answers = session_cookie(user), Barrier(WRITERS), []
    sent = {"date": DAY.isoformat(), "method": "cash", "amount": "5", "tip": ""}

    def send(writer: int):
        browser = Browser(raise_request_exception=False)
        browser.cookies[cookie["name"]] = cookie["value"]
        ready.wait()
        try:
            for time in range(EACH):
                address = f"/clients/{clients[(writer + time) % 3].pk}/payments/add/"
                answers.append(browser.post(address, sent | {"uuid": new_press()}).status_code)
        finally:
            connection.close()

    connection_created.connect(impatient)
    try:
        threads = [Thread(target=send, args=[writer]) for writer in range(WRITERS)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    finally:
        connection_created.disconnect(impatient)

    assert answers == [302] * WRITERS * EACH
    assert Payment.objects.count() == WRITERS * EACH
