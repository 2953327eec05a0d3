"""The worker of `start`: sends what a page queues at once, beside others, and keeps nobody from ending."""

import threading
import time

import pytest
from django.db import transaction

from billing.actions.mailing import queue_message
from billing.models import Message
from billing.papers.invoice_messages import INVOICE
from practice.lib.today import now
from practice.project.mail_worker import LONGEST_SECONDS, LOOK_SECONDS, MailWorker
from tests.factories.billing import InvoiceFactory
from tests.factories.mail import MailSettingsFactory, MessageFactory
from tests.mail_server import mail_server
from tests.prepared import prepared
from tests.processes import free_port, started

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def papers_of_one_line(monkeypatch):
    monkeypatch.setattr("billing.papers.invoice_messages.invoice_pdf", lambda invoice: b"%PDF-1.7")


def until(holds):
    """Wait until something holds, but not for good; return what it is then."""
    for _ in range(1000):
        if found := holds():
            return found
        time.sleep(0.05)
    return holds()


def test_what_is_queued_is_sent_once_its_transaction_has_ended_by_one_of_two_workers():
    invoice, ended = InvoiceFactory(), threading.Event()
    with mail_server() as server:
        MailSettingsFactory(port=server.port)
        workers = [MailWorker(ended), MailWorker(ended)]
        for worker in workers:
            worker.start()
        with transaction.atomic():
            for number in range(5):
                to = f"client{number}@barn.example"
                queue_message(INVOICE, invoice, to=to, to_name="", subject="a", text="b", now=now())
            before = len(server.letters)

        all_sent = until(lambda: not Message.objects.exclude(state="sent").exists())
        ended.set()
        for worker in workers:
            worker.join(60)

    assert (before, all_sent, [worker.is_alive() for worker in workers]) == (0, True, [False, False])
    assert sorted(server.counted().values()) == [1] * 5


def test_a_server_out_of_reach_is_asked_less_and_less_often():
    MailSettingsFactory(port=free_port())
    MessageFactory()
    worker, pause, pauses = MailWorker(threading.Event()), LOOK_SECONDS, []

    for _ in range(8):
        Message.objects.update(next_try=now())
        pause = worker.look(pause)
        pauses.append(pause)

    assert pauses == [20, 40, 80, 160, 300, 300, 300, LONGEST_SECONDS]


MAIL_THAT_WAITS = (
    "INSERT INTO billing_mailsettings (id, host, port, security, username, from_name, from_address)"
    " VALUES (1, '127.0.0.1', {port}, 'none', '', '', 'office@garrow.example')",
    "INSERT INTO stock_order (uuid, ref, ordered_on, note) VALUES ('{key}', 'O-1', '2026-10-14', '')",
    'INSERT INTO billing_message (uuid, ref, kind, about, to_name, "to", subject, text, message_id, state,'
    " queued_at, next_try, tries, handed_over) VALUES ('{key}', '', 'order', 'O-1', '', 'sales@tarn.example',"
    " 'Order', 'Please', '<1@x>', 'waiting', '2026-10-14 12:00:00+00:00', '2026-10-14 12:00:00+00:00', 0,"
    " FALSE)",
)


def test_start_ends_within_five_seconds_in_the_middle_of_a_message(kept_book):
    """The message is then one of which nobody knows, once its claim runs out."""
    with mail_server(dawdle=5) as server, prepared(kept_book) as told:
        for statement in MAIL_THAT_WAITS:
            told.sql(statement.format(port=server.port, key=f"{1:032}"))
        with started("--empty", "--port", free_port(), **kept_book) as book:
            handed_over = until(lambda: told.sql("SELECT 1 FROM billing_message WHERE handed_over"))
            code, seconds = book.end()
        states = told.sql("SELECT state FROM billing_message")
        told.sql("DELETE FROM billing_mailsettings")

    assert (handed_over, code, seconds < 5, states) == ([(1,)], 0, True, [("sending",)])
