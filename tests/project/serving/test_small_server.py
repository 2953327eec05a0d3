"""The guide of a small server: Debian's Caddy in front, with the units as they are handed out."""

import contextlib
import json
import re
import shutil
import subprocess
import time

import pytest

from practice.project.serving.cookies import PREFIX
from tests.processes import PATIENCE, ROOT, free_port, started, surroundings
from tests.project.serving.trusting import Visitor, trusting

FOLDER = ROOT / "practice" / "project" / "serving" / "small_server"
NAME, BEHIND = "book.example.com", "127.0.0.1:8000"
LOGIN = {"ROUNDBOOK_USER": "anna", "ROUNDBOOK_PASSWORD": "a-burnt-hoof-smells-forever"}


@pytest.fixture
def caddy(tmp_path):
    """Return a function that runs Caddy with a Caddyfile, in a folder of its own."""
    assert shutil.which("caddy"), "This test needs Debian's package caddy."
    environment = surroundings(XDG_DATA_HOME=tmp_path / "caddy", XDG_CONFIG_HOME=tmp_path / "caddy")

    def run(text, *command):
        path = tmp_path / "Caddyfile"
        path.write_text(text)
        arguments = ["caddy", *command, "--config", str(path), "--adapter", "caddyfile"]
        return subprocess.Popen(
            arguments, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )

    return run


@contextlib.contextmanager
def behind_caddy(caddy, folder, variables):
    """Serve a book behind Caddy, with an authority of Caddy's own; yield its port and what trusts it."""
    port, own = free_port(), free_port()
    # For a test it may neither use ports 80 and 2019 nor have this machine trust it.
    text = (FOLDER / "Caddyfile").read_text()
    text = text.replace("{\n", "{\n\tadmin off\n\tskip_install_trust\n\tauto_https disable_redirects\n", 1)
    text = text.replace(f"{NAME} {{", f"https://localhost:{port} {{\n\ttls internal").replace(
        BEHIND, f"127.0.0.1:{own}"
    )
    variables = variables | {"ROUNDBOOK_HTTPS": "yes", "ROUNDBOOK_HOSTS": "localhost"}
    with started("--empty", "--port", own, **variables, **LOGIN):
        process = caddy(text, "run")
        try:
            root = folder / "caddy" / "caddy" / "pki" / "authorities" / "local" / "root.crt"
            yield port, trust_once_it_serves(process, root, port)
        finally:
            process.terminate()
            process.communicate(timeout=PATIENCE)


def trust_once_it_serves(process, root, port):
    for _ in range(3000):
        assert process.poll() is None, process.stdout.read()
        with contextlib.suppress(OSError):
            trust = trusting(root)
            Visitor(port, trust, "localhost").get("/health/")
            return trust
        time.sleep(0.1)
    raise AssertionError("Caddy does not serve.")


def test_a_phone_logs_in_through_caddy(caddy, absent_book, tmp_path):
    with behind_caddy(caddy, tmp_path, absent_book) as (port, trust):
        phone = Visitor(port, trust, "localhost")
        state = json.loads(phone.get("/health/").body)
        page = phone.get("/login/", **{"X-Forwarded-Proto": "http"})  # it cannot say that it came by http
        answer = phone.log_in(LOGIN["ROUNDBOOK_USER"], LOGIN["ROUNDBOOK_PASSWORD"])
        inside = phone.get("/settings/")

    assert (state["status"], state["database"]) == ("ok", "ok")
    assert (page.status, answer.status, answer.getheader("Location"), inside.status) == (200, 302, "/", 200)
    assert {name: (morsel["secure"], morsel["path"]) for name, morsel in phone.cookies.items()} == {
        f"{PREFIX}roundbook_csrf": (True, "/"),
        f"{PREFIX}roundbook_session": (True, "/"),
    }
    assert page.getheader("Strict-Transport-Security") == "max-age=31536000; includeSubDomains; preload"


def test_caddy_takes_its_file_as_it_is(caddy):
    process = caddy((FOLDER / "Caddyfile").read_text(), "validate")

    said, _ = process.communicate(timeout=PATIENCE)

    assert (process.returncode, said.splitlines()[-1]) == (0, "Valid configuration")


def test_systemd_finds_nothing_wrong_with_the_unit(tmp_path):
    assert shutil.which("systemd-analyze"), "This test needs Debian's package systemd."
    unit = tmp_path / "roundbook.service"
    shutil.copyfile(FOLDER / "roundbook.service", unit)

    found = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", "--recursive-errors=no", unit],
        capture_output=True,
        text=True,
    )

    assert (found.returncode, found.stderr) == (0, "")


def test_the_files_fit_each_other():
    service, variables = ((FOLDER / name).read_text() for name in ("roundbook.service", "roundbook.env"))
    caddyfile = (FOLDER / "Caddyfile").read_text()
    given = dict(re.findall(r"^(?:# )?([A-Z_]+)=(.+)$", variables, re.M))

    assert given["ROUNDBOOK_HOSTS"] == NAME
    assert f"127.0.0.1:{given['ROUNDBOOK_PORT']}" == BEHIND
    assert f"\n{NAME} {{\n" in caddyfile and BEHIND in caddyfile
    assert given["ROUNDBOOK_DATA"].startswith(re.search(r"ReadWritePaths=(.+)", service)[1])
    table = (ROOT / "DEVELOPERS.md").read_text().partition("## Environment variables")[2]
    assert [name for name in given if f"`{name}`" not in table] == []
