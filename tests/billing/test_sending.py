"""Messages in the book: queued, sent once, tried again, given up, and what nobody knows."""

import multiprocessing
import os
import signal
import threading
from collections import Counter
from datetime import datetime, timedelta

import pytest
from django.db import connections

from billing.actions.delivering import LEASE, send_waiting
from billing.actions.mailing import mark_arrived, queue_all, queue_message, send_again, take_message_back
from billing.models import Message, MessageAttempt
from billing.papers.invoice_messages import INVOICE
from billing.rules.retrying import GIVE_UP_AFTER, PAUSES, pause_after
from practice.lib.errors import RuleBroken
from tests.factories.billing import InvoiceFactory
from tests.factories.mail import NOON, MailSettingsFactory, MessageFactory
from tests.factories.practice import ClientFactory, ProfileFactory
from tests.mail_server import mail_server
from tests.processes import free_port

pytestmark = pytest.mark.django_db
State = Message.State


@pytest.fixture(autouse=True)
def papers_of_one_line(monkeypatch):
    """How a paper looks is not what these tests are about."""
    monkeypatch.setattr("billing.papers.invoice_messages.invoice_pdf", lambda invoice: b"%PDF-1.7")


def states() -> Counter:
    return Counter(Message.objects.values_list("state", flat=True))


def send(at=NOON, only_due=True) -> dict:
    """Send what waits, and return how it ended; what did not happen is left out."""
    return {state: number for state, number in send_waiting(lambda: at, only_due=only_due).items() if number}


def test_an_invoice_is_sent_once_with_its_paper():
    ProfileFactory(pay_note="By mail: check to Garrow", phone="555-0100")
    invoice = InvoiceFactory(number="GF-1", client=ClientFactory(name="Ann", email="ann@barn.example"))
    with mail_server() as server:
        MailSettingsFactory(port=server.port)
        queue_all(INVOICE, [INVOICE.find("GF-1")], NOON)

        assert [send(), send()] == [{"sent": 1}, {}]

    [letter] = server.letters
    [paper] = letter.iter_attachments()
    assert [letter["From"], letter["To"], letter["Subject"], paper.get_filename()] == [
        "Garrow Farriery <office@garrow.example>",
        "Ann <ann@barn.example>",
        "Invoice GF-1 from Garrow Farriery",
        "GF-1.pdf",
    ]
    assert letter.get_body().get_content().splitlines() == [
        "Hello Ann,",
        "",
        "Attached is invoice GF-1, dated October 14, 2026. The amount due is $100.00, by October 14, 2026.",
        "",
        "By mail: check to Garrow",
        "",
        "Thank you,",
        "Garrow Farriery",
        "555-0100",
    ]
    assert Message.objects.get().about == invoice.number


def test_pressed_twice_nobody_gets_an_invoice_twice():
    ProfileFactory()
    MailSettingsFactory()
    with_address, without = ClientFactory(email="ann@barn.example"), ClientFactory()
    invoices = [InvoiceFactory(client=with_address), InvoiceFactory(client=without)]

    queued = [len(queue_all(INVOICE, map(INVOICE.find, (i.number for i in invoices)), NOON)) for _ in "ab"]

    assert (queued, Message.objects.count()) == ([1, 0], 1)


def test_a_refused_invoice_is_proposed_again_a_doubtful_one_is_not():
    ProfileFactory()
    MailSettingsFactory()
    refused, doubtful = (InvoiceFactory(client__email="ann@barn.example") for _ in "ab")
    MessageFactory(about=refused.number, state=State.REFUSED)
    MessageFactory(about=doubtful.number, state=State.DOUBTFUL)

    queued = queue_all(INVOICE, map(INVOICE.find, (refused.number, doubtful.number)), NOON)

    assert [message.about for message in queued] == [refused.number]


def test_nothing_is_queued_or_sent_where_mail_is_not_set_up():
    ProfileFactory()
    invoice = InvoiceFactory(client__email="ann@barn.example")
    MessageFactory()

    with pytest.raises(RuleBroken) as error:
        queue_all(INVOICE, [invoice], NOON)

    assert (error.value.code, send(), states()) == ("mail_not_set_up", {"waiting": 1}, {"waiting": 1})


def test_a_user_name_without_its_password_is_not_set_up():
    MailSettingsFactory(username="garrow", port=1)
    MessageFactory()

    assert send() == {"waiting": 1}


@pytest.mark.parametrize(
    ("address", "subject", "code"),
    [
        ("ann", "Hello", "bad_address"),
        ("ann@barn.example\nBcc: x@y.example", "Hello", "bad_address"),
        ("ann@barn.example", " \r\n ", "message_without_words"),
    ],
)
def test_a_message_needs_an_address_and_words(address, subject, code):
    MailSettingsFactory()

    with pytest.raises(RuleBroken) as error:
        queue_message(INVOICE, InvoiceFactory(), to=address, to_name="", subject=subject, text="a", now=NOON)

    assert (error.value.code, Message.objects.count()) == (code, 0)


@pytest.mark.parametrize(
    ("rules", "state"),
    [
        ({"at_rcpt": lambda to: "451 later"}, "waiting"),
        ({"at_rcpt": lambda to: "drop"}, "waiting"),
        ({"at_data": lambda to: "drop"}, "waiting"),
        ({"at_rcpt": lambda to: "550 nobody"}, "refused"),
        ({"after_data": lambda to: "554 spam"}, "refused"),
        ({"after_data": lambda to: "drop"}, "doubtful"),
    ],
)
def test_how_a_try_ended_is_kept(rules, state):
    with mail_server(**rules) as server:
        MailSettingsFactory(port=server.port)
        message = MessageFactory()

        ended = send()

    message.refresh_from_db()
    assert (ended, message.state, message.attempts.get().at) == ({state: 1}, state, NOON)
    assert message.next_try == (NOON + PAUSES[0] if state == "waiting" else NOON)


def test_the_pause_grows_and_in_the_end_a_message_is_given_up():
    with mail_server(at_rcpt=lambda to: "451 later") as server:
        MailSettingsFactory(port=server.port)
        message, at, tries = MessageFactory(), NOON, 0
        while message.state == "waiting" and tries < 100:
            send(at)
            message.refresh_from_db()
            assert send(at) == {}
            at, tries = message.next_try, tries + 1

    spent = list(message.attempts.order_by("at").values_list("at", flat=True))
    pauses = [after - before for before, after in zip(spent, spent[1:], strict=False)]
    assert pauses == [pause_after(number) for number in range(1, tries)]
    assert pauses == sorted(pauses)
    assert (message.state, spent[-1] - NOON >= GIVE_UP_AFTER > spent[-2] - NOON) == ("refused", True)


def test_a_server_out_of_reach_gives_nothing_up_and_is_not_asked_for_each_message():
    MailSettingsFactory(port=free_port())
    old = NOON - timedelta(days=30)
    MessageFactory.create_batch(5, queued_at=old, next_try=old, tries=50)

    assert send() == {"waiting": 5}
    assert (states(), MessageAttempt.objects.count()) == ({"waiting": 5}, 2)


def test_what_it_is_about_is_gone():
    MailSettingsFactory()
    MessageFactory(about="no such invoice")

    assert send() == {"refused": 1}


def test_a_claim_that_runs_out_waits_again_unless_its_text_may_have_left():
    late = NOON - LEASE
    MailSettingsFactory(port=free_port())
    before = MessageFactory(state=State.SENDING, claimed_until=late, next_try=NOON + timedelta(days=1))
    after = MessageFactory(state=State.SENDING, claimed_until=late, handed_over=True)
    MessageFactory(state=State.SENDING, claimed_until=NOON + timedelta(seconds=1), handed_over=True)

    ended = send()

    before.refresh_from_db(), after.refresh_from_db()
    assert (ended, before.state, after.state) == ({"doubtful": 1}, "waiting", "doubtful")
    assert states() == {"waiting": 1, "doubtful": 1, "sending": 1}


def test_who_lost_the_claim_before_the_text_left_sends_nothing():
    """As where the machine slept, and another process has the message by now."""
    with mail_server() as server:
        MailSettingsFactory(port=server.port)
        message = MessageFactory()
        server.handler.rules["rcpt"] = None
        ours = Message.objects.filter(pk=message.pk)
        clock = iter([NOON, NOON, NOON])

        def ticking():
            return next(clock, NOON)

        from billing.actions import delivering

        def lose(message):
            ours.update(claim=None, state=State.WAITING)
            return original(message)

        original = delivering.hand_over
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(delivering, "hand_over", lose)
            ended = send_waiting(ticking, only_due=True)

    assert (ended.total(), server.letters, states()) == (0, [], {"waiting": 1})


def test_a_doubtful_message_is_sent_again_only_on_a_press():
    with mail_server(after_data=lambda to: "drop") as server:
        MailSettingsFactory(port=server.port)
        message = MessageFactory()
        assert [send(), send(NOON + timedelta(days=1), only_due=False)] == [{"doubtful": 1}, {}]

        server.handler.rules["after"] = None
        message.refresh_from_db()
        send_again(message, NOON + timedelta(days=1))
        assert send(NOON + timedelta(days=1)) == {"sent": 1}

    assert list(server.counted().values()) == [2]
    assert [row.what for row in message.attempts.order_by("pk")] == ["doubtful", "again", "sent"]


def test_a_doubtful_message_that_arrived_is_sent():
    message = MessageFactory(state=State.DOUBTFUL)

    mark_arrived(message, NOON)

    assert (message.state, message.attempts.get().what) == ("sent", "arrived")


@pytest.mark.parametrize("state", ["waiting", "sending", "sent"])
def test_what_is_not_open_is_neither_sent_again_nor_marked(state):
    MailSettingsFactory()
    message = MessageFactory(state=state)

    codes = set()
    for action in (send_again, mark_arrived):
        with pytest.raises(RuleBroken) as error:
            action(message, NOON)
        codes.add(error.value.code)

    assert (codes, states(), MessageAttempt.objects.count()) == ({"message_not_open"}, {state: 1}, 0)


def test_a_message_is_taken_back_only_while_it_waits():
    take_message_back(MessageFactory())

    with pytest.raises(RuleBroken) as error:
        take_message_back(MessageFactory(state=State.SENDING))

    assert (error.value.code, states()) == ("message_on_its_way", {"sending": 1})


MESSAGES, KILLED = 200, 20


def run_worker(at: datetime, told) -> None:
    """Send what waits in a process of its own."""
    send_waiting(lambda: at, only_due=False)
    told.set()
    os._exit(0)


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_two_hundred_messages_arrive_once_each_however_often_the_worker_is_killed():
    """A server that puts off a third and drops a tenth after it has the text; 20 workers die of SIGKILL."""
    put_off, dropped = set(), set()
    reached, is_dead, stop_at = threading.Event(), threading.Event(), 0

    def at_rcpt(to):
        number = int(to.removeprefix("client").partition("@")[0])
        if number % 3 == 0 and number not in put_off:
            put_off.add(number)
            return "451 busy"
        return None

    def after_data(to):
        if stop_at and len(server.letters) >= stop_at:  # the worker dies with this letter on its hands
            reached.set()
            is_dead.wait(20)
        number = int(to.removeprefix("client").partition("@")[0])
        if number % 10 == 1:
            dropped.add(f"<{number:04}@garrow.example>")
            return "drop"
        return None

    about = InvoiceFactory(client__email="ann@barn.example").number
    Message.objects.bulk_create(
        MessageFactory.build(
            about=about, to=f"client{number}@barn.example", message_id=f"<{number:04}@garrow.example>"
        )
        for number in range(MESSAGES)
    )
    fork = multiprocessing.get_context("fork")
    with mail_server(at_rcpt=at_rcpt, after_data=after_data) as server:
        MailSettingsFactory(port=server.port)
        at, killed, step = NOON, 0, MESSAGES // (KILLED + 4)
        for _run in range(200):
            at += LEASE * 2
            if not Message.objects.filter(state__in=["waiting", "sending"]).exists():
                break
            connections.close_all()
            told = fork.Event()
            stop_at = len(server.letters) + step if killed < KILLED else 0
            reached.clear()
            is_dead.clear()
            worker = fork.Process(target=run_worker, args=(at, told))
            worker.start()
            while stop_at and worker.is_alive() and not reached.is_set():
                worker.join(0.01)
            if reached.is_set():
                os.kill(worker.pid, signal.SIGKILL)
                killed += 1
            worker.join()
            is_dead.set()

    counted = server.counted()
    by_state = {
        state: set(Message.objects.filter(state=state).values_list("message_id", flat=True))
        for state in ("sent", "doubtful")
    }
    assert killed == KILLED
    assert states().keys() == {"sent", "doubtful"} and states().total() == MESSAGES
    assert set(counted.values()) == {1}
    assert by_state["sent"] <= counted.keys()
    assert dropped <= by_state["doubtful"] and len(dropped) == MESSAGES // 10
    assert len(by_state["doubtful"]) <= len(dropped) + KILLED
    assert set(range(0, MESSAGES, 3)) == put_off
    assert (
        set(MessageAttempt.objects.filter(what="doubtful").values_list("message__message_id", flat=True))
        == by_state["doubtful"]
    )
