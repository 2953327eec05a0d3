"""`manage.py send`: what waits, once each, counted."""

import json

import pytest

from tests.factories.mail import MailSettingsFactory, MessageFactory
from tests.mail_server import mail_server
from tests.processes import run_here

pytestmark = pytest.mark.django_db
NOTHING = {"sent": 0, "waiting": 0, "refused": 0, "doubtful": 0}


@pytest.fixture(autouse=True)
def papers_of_one_line(monkeypatch):
    monkeypatch.setattr("billing.papers.invoice_messages.invoice_pdf", lambda invoice: b"%PDF-1.7")


def send(capsys) -> dict:
    assert run_here("send", "--json") == 0
    return json.loads(capsys.readouterr().out)


def test_each_message_is_tried_once_and_counted_by_how_it_ended(capsys):
    answers = {"client1@barn.example": "451 later", "client2@barn.example": "550 no"}
    with mail_server(
        at_rcpt=answers.get, after_data=lambda to: "drop" if to.startswith("client3@") else None
    ) as server:
        MailSettingsFactory(port=server.port)
        for number in range(5):
            MessageFactory(to=f"client{number}@barn.example")

        runs = [send(capsys), send(capsys)]

    assert runs == [
        {"sent": 2, "waiting": 1, "refused": 1, "doubtful": 1},
        NOTHING | {"waiting": 1},
    ]


def test_without_a_mail_server_all_of_it_waits(capsys):
    MessageFactory()

    assert (run_here("send", "--json"), *capsys.readouterr()) == (
        0,
        json.dumps(NOTHING | {"waiting": 1}, indent=1) + "\n",
        "Mail is not set up. Enter your mail server on the page Mail.\n",
    )


def test_it_says_in_words_what_became_of_them(capsys):
    with mail_server() as server:
        MailSettingsFactory(port=server.port)
        MessageFactory()

        assert [run_here("send"), run_here("send")] == [0, 0]

    assert capsys.readouterr().out == "Sent: 1 message\nNo message is waiting.\n"
