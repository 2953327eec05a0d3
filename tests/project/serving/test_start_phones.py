"""`start --phones`: one process serves this machine by http and phones by https, until it is told to end."""

import contextlib
import re
import signal
import socket
import ssl
import urllib.parse

import pytest

from practice.project.server import bound
from practice.project.serving.cookies import PREFIX
from tests.processes import free_port, run_command, started
from tests.project.serving.trusting import Visitor, ask, connected, trusting

LOGIN = {"ROUNDBOOK_USER": "anna", "ROUNDBOOK_PASSWORD": "a-burnt-hoof-smells-forever"}


@contextlib.contextmanager
def serving(**variables):
    """Start a book that serves phones; yield it, the port they use, and TLS that trusts its authority."""
    port = free_port()
    with started("--empty", "--phones", "--phones-port", port, **variables) as book:
        yield book, port, trusting(variables["ROUNDBOOK_DATA"] / "tls" / "authority.pem")


@pytest.fixture(scope="module")
def with_phones(kept_book):
    with serving(**kept_book) as found:
        yield found


@pytest.fixture
def with_anna(absent_book):
    with serving(**absent_book, **LOGIN) as found:
        yield found


def test_a_phone_is_paired_over_https_and_ended_on_the_desk(with_anna):
    """From the first look without trust to the last one without a login, as a phone of the network does."""
    book, port, _ = with_anna
    desk = Visitor(urllib.parse.urlsplit(book.url).port)
    desk.log_in(LOGIN["ROUNDBOOK_USER"], LOGIN["ROUNDBOOK_PASSWORD"])
    desk.get("/phones/")
    desk.post("/phones/", {})
    page = desk.get("/phones/").body.decode()
    [code] = re.findall(r'pairing-code">\s*([\w-]+)', page)
    host = re.search(rf"https://([\w.-]+):{port}/phone/pair/", page)[1]
    blind = ssl.create_default_context()
    blind.check_hostname, blind.verify_mode = False, ssl.CERT_NONE
    given = Visitor(port, blind, host).get("/phone/trust/certificate/").body

    phone, other = (Visitor(port, ssl.create_default_context(cadata=given), host) for _ in range(2))
    phone.get("/phone/pair/")
    other.get("/phone/pair/")
    form = {"pairing_code": code, "name": "Wren's phone"}
    wrong = phone.post("/phone/pair/", form | {"pairing_code": "2222-2222"})
    right = phone.post("/phone/pair/", form)
    again = other.post("/phone/pair/", form)
    inside = phone.get("/settings/")
    session = phone.cookies[PREFIX + "roundbook_session"]
    [name] = re.findall(r'name="end"\s+value="(\w+)"', desk.get("/phones/").body.decode())
    desk.post("/phones/", {"end": name})
    ended = phone.get("/settings/")

    assert host.endswith(".local")
    assert [each.status for each in (wrong, right, again, inside)] == [200, 302, 200, 200]
    assert [b"This code does not work." in each.body for each in (wrong, again)] == [True, True]
    assert (session["secure"], session["httponly"], session["path"], session["samesite"]) == (
        True,
        True,
        "/",
        "Lax",
    )
    assert (ended.status, ended.getheader("Location")) == (302, "/login/?next=/settings/")
    assert inside.getheader("Strict-Transport-Security") is None


def test_without_a_login_a_phone_is_led_to_it(with_phones):
    _, port, trust = with_phones

    answer = ask(port, trust, "/")

    assert (answer.status, answer.getheader("Location")) == (302, "/login/?next=/")


def test_it_answers_to_its_names_and_to_no_other(with_phones):
    _, port, trust = with_phones
    hosts = ["roundbook.local", "127.0.0.1", "localhost"]

    right = {host: ask(port, trust, "/login/", host).status for host in hosts}
    wrong = {name: ask(port, trust, "/login/", name=name).status for name in ("evil.example", "10.255.255.1")}

    assert right == dict.fromkeys(hosts, 200)
    assert set(wrong.values()) == {400}


def test_what_trusts_another_authority_is_told_no(with_phones):
    _, port, _ = with_phones

    with pytest.raises(ssl.SSLCertVerificationError):
        connected(port, ssl.create_default_context())


def test_it_says_who_can_reach_it(with_phones):
    book, port, _ = with_phones

    said, pairing = book.said

    said_at = re.fullmatch(
        r"Phones and computers in your own network can reach this book at (.+)\. Each needs a login\.\n", said
    )
    assert pairing == f"To pair a phone, open {book.url}phones/ on this computer.\n"
    first, *others = said_at[1].split(" or ")
    assert re.fullmatch(rf"https://roundbook(-\d+)?\.local:{port}/", first)
    assert all(re.fullmatch(rf"https://[\d.]+:{port}/", other) for other in others)


@pytest.mark.parametrize("by", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_it_within_five_seconds_with_a_phone_connected(kept_book, by):
    with serving(**kept_book) as (book, port, trust), connected(port, trust):
        exit_code, seconds = book.end(by)

    assert exit_code == 0
    assert seconds < 5


def test_plain_http_is_for_this_machine_alone(with_phones):
    book, _, _ = with_phones
    port = urllib.parse.urlsplit(book.url).port

    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.2", port), timeout=5)


def test_a_taken_port_ends_it_before_anything_is_made(absent_book):
    with bound("127.0.0.1", free_port()) as taken:
        port = taken.getsockname()[1]

        ended = run_command("start", "--empty", "--no-browser", "--phones-port", port, **absent_book)

    assert (ended.returncode, ended.stdout) == (3, "")
    assert ended.stderr == (
        f"The port {port} is not available (Address already in use). Close the program that uses it, or"
        " choose another with --phones-port; then pair your phones again.\n"
    )


def test_behind_another_server_it_does_not_serve_phones_itself(kept_book):
    ended = run_command("start", "--phones", "--no-browser", **kept_book, ROUNDBOOK_HTTPS="yes")

    assert (ended.returncode, ended.stdout) == (2, "")
    assert ended.stderr == (
        "ROUNDBOOK_HTTPS says that another server with a certificate stands before this one."
        " Phones reach the book through that one: leave --phones out.\n"
    )
