"""One letter by SMTP against a real server on loopback, and what it looks like on the wire."""

import email
import socket
import threading
from email.policy import default

import pytest

from practice.lib.mail import (
    Doubtful,
    Enclosure,
    Letter,
    MailConnection,
    MailServer,
    NotNow,
    Refused,
    ServerUnavailable,
    new_message_id,
    stuffed,
)
from tests.factories.mail import NOON
from tests.mail_server import mail_server
from tests.processes import free_port


def letter(**changed) -> Letter:
    given = {
        "message_id": "<1@garrow.example>",
        "sender_name": "Garrow Farriery",
        "sender": "office@garrow.example",
        "to_name": "Ann Birch",
        "to": "ann@barn.example",
        "subject": "Invoice GF-2026-0001",
        "text": "Hello Ann\n",
        "date": NOON,
    }
    return Letter(**(given | changed))


def connected(port: int, patience: float = 5, **login) -> MailConnection:
    return MailConnection(MailServer("127.0.0.1", port, "none", **login), patience)


def send(port: int, *letters: Letter, **how) -> list[str]:
    with connected(port, **how) as connection:
        return [connection.send(each) for each in letters]


def as_read(sent: Letter):
    return email.message_from_bytes(sent.as_bytes(), policy=default)


def test_letters_arrive_whole_one_after_the_other_on_one_connection():
    first = letter(text=".a line with a dot\nGrüße\n", enclosures=(Enclosure("a.pdf", b"%PDF-1.7"),))

    with mail_server() as server:
        answers = send(server.port, first, letter(message_id="<2@garrow.example>"))

    assert answers == ["250 Taken", "250 Taken"]
    arrived = server.letters[0]
    [paper] = arrived.iter_attachments()
    assert arrived.get_body().get_content().replace("\r\n", "\n") == first.text
    assert (paper.get_filename(), paper.get_content_type(), paper.get_content()) == (
        "a.pdf",
        "application/pdf",
        b"%PDF-1.7",
    )
    assert [each["Message-ID"] for each in server.letters] == ["<1@garrow.example>", "<2@garrow.example>"]


def test_names_outside_of_ascii_are_encoded_and_read_back():
    read = as_read(letter(to_name="Łucja Żółć, Hof", subject="Rechnung für März", to="a@hof-müller.example"))

    assert [read["To"].addresses[0].display_name, read["Subject"]] == ["Łucja Żółć, Hof", "Rechnung für März"]
    assert read["To"].addresses[0].addr_spec == "a@xn--hof-mller-u9a.example"
    assert letter(to_name="Łucja", subject="für", text="ü").as_bytes().isascii()


@pytest.mark.parametrize("broken", ["Ann\r\nBcc: x@y.example", "Ann\nBcc: x@y.example", "Ann\x0bBcc:"])
def test_a_line_break_in_a_name_or_subject_adds_no_header(broken):
    read = as_read(letter(to_name=broken, sender_name=broken, subject=broken))

    assert sorted(read.keys()) == sorted(as_read(letter()).keys())
    assert "\n" not in read["Subject"] and read["Bcc"] is None


def test_first_dots_are_doubled_and_a_dot_ends_the_text():
    """RFC 5321, 4.5.2."""
    assert stuffed(b".\r\na.b\r\n..c") == b"..\r\na.b\r\n...c\r\n.\r\n"


def test_a_message_id_is_in_the_senders_domain_and_no_other_has_it():
    made = {new_message_id("office@hof-müller.example") for _ in range(50)}

    assert len(made) == 50
    assert all(each.endswith("@xn--hof-mller-u9a.example>") for each in made)


@pytest.mark.parametrize(
    ("rules", "error", "handed_over"),
    [
        ({"at_rcpt": lambda to: "451 later"}, NotNow, False),
        ({"at_rcpt": lambda to: "550 nobody here"}, Refused, False),
        ({"at_rcpt": lambda to: "drop"}, NotNow, False),
        ({"at_data": lambda to: "451 not now"}, NotNow, False),
        ({"at_data": lambda to: "drop"}, NotNow, False),
        ({"after_data": lambda to: "452 full"}, NotNow, True),
        ({"after_data": lambda to: "554 spam"}, Refused, True),
        ({"after_data": lambda to: "drop"}, Doubtful, True),
        ({"after_data": lambda to: "200 what"}, Doubtful, True),
    ],
)
def test_a_letter_that_does_not_go_says_whether_it_may_be_sent_again(rules, error, handed_over):
    told = []

    with mail_server(**rules) as server, connected(server.port) as mail, pytest.raises(error) as raised:
        mail.send(letter(), lambda: told.append(True))

    assert (type(raised.value), bool(told)) == (error, handed_over)


def test_an_answer_that_takes_too_long_leaves_it_open_whether_the_letter_arrived():
    with mail_server(dawdle=0.5) as server, pytest.raises(Doubtful):
        send(server.port, letter(), patience=0.2)


def test_a_connection_is_made_anew_after_a_refusal():
    def only_ann(to):
        return None if to == "ann@barn.example" else "550 no"

    with mail_server(at_rcpt=only_ann) as server, connected(server.port) as mail:
        with pytest.raises(Refused):
            mail.send(letter(to="no@barn.example"))
        mail.send(letter())

    assert len(server.letters) == 1


def test_a_server_that_is_not_there_is_no_letters_fault():
    with pytest.raises(ServerUnavailable, match="127.0.0.1 cannot be reached"):
        send(free_port(), letter())


def test_a_server_that_says_nothing_is_given_up_after_a_while():
    with socket.create_server(("127.0.0.1", 0)) as silent:
        threading.Thread(target=silent.accept, daemon=True).start()

        with pytest.raises(ServerUnavailable):
            send(silent.getsockname()[1], letter(), patience=0.2)


def test_a_login_is_given_and_a_wrong_one_is_no_letters_fault():
    with mail_server(login=True) as server:
        send(server.port, letter(), username="garrow", password="six nails")
        with pytest.raises(ServerUnavailable, match="refused the user name or password"):
            send(server.port, letter(), username="garrow", password="seven")

    assert set(server.handler.logins) == {("garrow", "six nails"), ("garrow", "seven")}
    assert len(server.letters) == 1


@pytest.mark.parametrize("security", ["tls", "starttls"])
def test_without_the_encryption_asked_for_neither_password_nor_letter_leaves(security):
    with mail_server(login=True) as server:
        how = MailServer("127.0.0.1", server.port, security, "garrow", "six nails")
        with MailConnection(how, 1) as mail, pytest.raises(ServerUnavailable):
            mail.send(letter())

    assert (server.handler.logins, server.letters) == ([], [])
