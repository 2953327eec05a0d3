"""`start`: from an absent book to the first page, on which port, and how it ends."""

import contextlib
import signal
import socket
import stat
import urllib.parse
import urllib.request
from http.cookiejar import CookieJar

import pytest

from practice.project import server
from practice.project.exits import EnvironmentProblem
from tests.processes import free_port, run_command, run_here, started

NO_PROXY = urllib.request.ProxyHandler({})


def ask(url: str) -> tuple[str, str]:
    """Return where a GET ended up and the page that stood there."""
    with urllib.request.build_opener(NO_PROXY).open(url, timeout=60) as answer:
        return answer.url, answer.read().decode()


def log_in(url: str, name: str, password: str) -> str:
    """Log in through the form; return the address it led to."""
    jar = CookieJar()
    opener = urllib.request.build_opener(NO_PROXY, urllib.request.HTTPCookieProcessor(jar), StayHere)
    opener.open(f"{url}login/", timeout=60).read()
    token = next(cookie.value for cookie in jar if cookie.name == "roundbook_csrf")
    form = urllib.parse.urlencode({"username": name, "password": password, "csrfmiddlewaretoken": token})
    with opener.open(f"{url}login/", form.encode(), timeout=60) as answer:
        return answer.headers.get("Location", "no further")


class StayHere(urllib.request.HTTPRedirectHandler):
    def http_error_302(self, request, answer, code, message, headers):
        return answer


def test_a_start_makes_the_book_and_its_printed_login_opens_it(absent_book):
    with started("--empty", **absent_book) as book:
        [login] = book.said
        name, password = login.removeprefix("Your login (shown only once): name ").split(", password ")

        assert ask(book.url)[0] == f"{book.url}login/?next=/"
        assert log_in(book.url, name, "wrong") == "no further"
        assert log_in(book.url, name, password.strip()) == "/"

    modes = {
        path.name: stat.S_IMODE(path.stat().st_mode) & 0o077
        for path in absent_book["ROUNDBOOK_DATA"].iterdir()
    }
    assert set(modes.values()) == {0}


@pytest.mark.parametrize("by", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_it_within_five_seconds(kept_book, by):
    with started("--empty", **kept_book) as book:
        exit_code, seconds = book.end(by)

    assert exit_code == 0
    assert seconds < 5


def test_a_second_start_shows_the_first_page_and_no_login(kept_book):
    with started("--empty", **kept_book) as book:
        url, page = ask(f"{book.url}login/")

    assert (url, book.said) == (f"{book.url}login/", [])
    assert 'name="username"' in page


def test_a_book_that_was_begun_empty_is_not_filled_with_the_demo_later(kept_book, tmp_path):
    with started(**kept_book) as book:
        book.end()

    run_command("export_book", tmp_path / "book", **kept_book)
    assert (tmp_path / "book" / "practice.csv").read_text().count("\n") <= 1


def test_a_login_that_was_given_is_used_and_its_password_written_nowhere(absent_book):
    password = "a-burnt-hoof-smells-forever"

    with started("--empty", **absent_book, ROUNDBOOK_USER="anna", ROUNDBOOK_PASSWORD=password) as book:
        assert book.said == []
        assert log_in(book.url, "anna", "wrong") == "no further"
        assert log_in(book.url, "anna", password) == "/"

    files = [path for path in absent_book["ROUNDBOOK_DATA"].rglob("*") if path.is_file()]
    assert [path for path in files if password.encode() in path.read_bytes()] == []


def test_a_port_that_is_asked_for_is_that_port_or_none(kept_book):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]

        ended = run_command("start", "--empty", "--no-browser", "--port", port, **kept_book)

    assert (ended.returncode, ended.stdout) == (3, "")
    assert (
        ended.stderr
        == f"Port {port} is not available (Address already in use). Choose another with --port.\n"
    )


def test_the_port_is_the_options_else_the_variables_else_one_from_8000_on(kept_book):
    option, variable = free_port(), free_port()
    with started("--empty", "--port", option, **kept_book, ROUNDBOOK_PORT=variable) as book:
        assert book.url == f"http://127.0.0.1:{option}/"
        book.end()
    with started("--empty", **kept_book, ROUNDBOOK_PORT=variable) as book:
        assert book.url == f"http://127.0.0.1:{variable}/"
        book.end()
    with started("--empty", **kept_book) as first, started("--empty", **kept_book) as second:
        ports = [urllib.parse.urlsplit(book.url).port for book in (first, second)]
        assert [8000 <= port <= 8999 for port in ports] == [True, True]
        assert ports[0] != ports[1]


def test_the_first_free_port_is_taken(monkeypatch):
    """On three ports of the test's own: from 8000 on, others come and go."""
    assert (server.FIRST_PORT, server.LAST_PORT) == (8000, 8999)
    held = neighbors(3)
    ports = [one.getsockname()[1] for one in held]
    monkeypatch.setattr(server, "FIRST_PORT", ports[0])
    monkeypatch.setattr(server, "LAST_PORT", ports[-1])

    with pytest.raises(EnvironmentProblem):
        server.listen(None)
    taken = []
    for free in (2, 0, 1):
        held[free].close()
        with server.listen(None) as listener:
            taken.append(listener.getsockname()[1])

    assert taken == [ports[2], ports[0], ports[0]]


def neighbors(count: int) -> list[socket.socket]:
    """Return listening sockets on ports that follow each other."""
    while True:
        first, held = free_port(), []
        with contextlib.ExitStack() as taken, contextlib.suppress(OSError):
            for port in range(first, first + count):
                held.append(taken.enter_context(socket.create_server(("127.0.0.1", port))))
            taken.pop_all()
            return held


@pytest.mark.parametrize("port", ["0", "65536", "eighty", "-1"])
def test_a_port_that_is_none_is_bad_input(port, capsys):
    exit_code = run_here("start", f"--port={port}")

    assert exit_code == 2
    assert capsys.readouterr().err.endswith(
        f"argument --port: '{port}' is not a whole number from 1 to 65535\n"
    )


def test_nothing_slow_is_imported_before_the_first_page(kept_book):
    """weasyprint alone takes 0.4 s of the three that a second start has."""
    code = (
        "import sys, practice.project.wsgi, practice.project.urls;"
        "slow = {'weasyprint', 'factory', 'faker', 'PIL', 'hypothesis', 'cryptography', 'zeroconf'};"
        "print(slow & set(sys.modules))"
    )

    ended = run_command("shell", "-v", "0", "-c", code, **kept_book)

    assert (ended.returncode, ended.stdout) == (0, "set()\n")


def test_two_first_starts_at_once_share_one_book_and_one_login(absent_book):
    with started("--empty", **absent_book, wait=False) as first, started("--empty", **absent_book) as second:
        first.get_ready()

        assert len(first.said + second.said) == 1
        assert ask(f"{first.url}health/")[1] == ask(f"{second.url}health/")[1]
