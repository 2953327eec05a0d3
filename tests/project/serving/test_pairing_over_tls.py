"""A phone is paired with a started book as its owner does it: scan, trust, scan again, and back to work.

The phone is Debian's Chromium with the certificates of a home folder of its own (NSS, `certutil`).
"""

import contextlib
import os
import shutil
import subprocess

import pytest
import zxingcpp
from PIL import Image

from tests.conftest import CHROMIUM_FLAGS, DESK, PHONE
from tests.processes import free_port, started

pytestmark = pytest.mark.slow
LOGIN = {"ROUNDBOOK_USER": "anna", "ROUNDBOOK_PASSWORD": "a-burnt-hoof-smells-forever"}
# Names in `.local` are this machine's, whatever the network says.
NAMES = "--host-resolver-rules=MAP *.local 127.0.0.1"
# The pages that a phone keeps for work without signal.
KEPT = "caches.open('pages').then((cache) => cache.keys())"


class PhoneToTrust:
    """A phone's browser, and the certificates that its owner had it trust."""

    def __init__(self, chromium, home):
        self.chromium, self.home = chromium, home
        self.known = home / ".pki" / "nssdb"
        self.known.mkdir(parents=True)
        self.certutil("-N", "--empty-password")

    def certutil(self, *arguments) -> None:
        subprocess.run(["certutil", "-d", f"sql:{self.known}", *arguments], check=True, timeout=60)

    def trust(self, certificate) -> None:
        self.certutil("-A", "-t", "C,,", "-n", "practice", "-i", str(certificate))

    @contextlib.contextmanager
    def page(self, state=None, **options):
        """Open a page on the phone, with the cookies of `state`."""
        running = self.chromium.browser_type.launch(
            executable_path=shutil.which("chromium")
            or pytest.fail("Pairing needs Debian's package chromium."),
            args=[*CHROMIUM_FLAGS, NAMES],
            env=os.environ | {"HOME": str(self.home)},
        )
        width, height = PHONE
        context = running.new_context(
            viewport={"width": width, "height": height}, storage_state=state, **options
        )
        yield context.new_page()
        running.close()


@pytest.fixture
def phone(chromium, tmp_path):
    return PhoneToTrust(chromium, tmp_path / "phone")


@pytest.fixture
def desk(chromium):
    """A page of the computer itself, not logged in."""
    context = chromium.new_context(viewport={"width": DESK[0], "height": DESK[1]})
    yield context.new_page()
    context.close()


def scanned(page, tmp_path) -> str:
    """Return what a camera reads off the screen."""
    page.screenshot(path=tmp_path / "screen.png")
    [found] = zxingcpp.read_barcodes(Image.open(tmp_path / "screen.png"))
    return found.text


def open_phones(desk, url: str) -> None:
    """Open the page of phones on the computer, and log in where it asks."""
    desk.goto(f"{url}phones/")
    if "/login/" in desk.url:
        desk.get_by_label("Name").fill(LOGIN["ROUNDBOOK_USER"])
        desk.get_by_label("Password").fill(LOGIN["ROUNDBOOK_PASSWORD"])
        desk.get_by_role("button", name="Log in").click()
        desk.wait_for_url("**/phones/")


def test_a_phone_trusts_pairs_works_through_a_new_certificate_and_is_ended(
    absent_book, phone, desk, tmp_path
):
    options = ("--empty", "--phones", "--phones-port", free_port())
    certificate = absent_book["ROUNDBOOK_DATA"] / "tls" / "server.pem"
    with started(*options, **absent_book, **LOGIN) as book:
        open_phones(desk, book.url)
        to_trust = scanned(desk, tmp_path)
        with phone.page(ignore_https_errors=True) as page:  # its owner goes on past the warning, once
            page.goto(to_trust)
            with page.expect_download() as download:
                page.get_by_role("link", name="Download").click()
            download.value.save_as(tmp_path / "roundbook.crt")
            assert page.locator(".fingerprint").inner_text() == desk.locator(".fingerprint").inner_text()
        phone.trust(tmp_path / "roundbook.crt")

        desk.get_by_role("button", name="Pair a phone").click()
        desk.locator(".pairing-code").wait_for()
        to_pair = scanned(desk, tmp_path)
        with phone.page() as page:
            page.goto(to_pair.partition("?")[0])
            page.get_by_label("Code").fill("2222-2222")
            page.get_by_role("button", name="Pair").click()
            page.get_by_text("This code does not work.").wait_for()
            page.goto(to_pair)
            page.get_by_label("Name of this phone").fill("Anna's phone")
            page.get_by_role("button", name="Pair").click()
            page.get_by_text("This phone is paired.").wait_for()
            page.goto(to_pair)
            page.get_by_role("button", name="Pair").click()
            page.get_by_text("This code does not work.").wait_for()
            state = page.context.storage_state()
        assert to_pair.startswith(to_trust.removesuffix("trust/") + "pair/?pairing_code=")
        assert book.end()[0] == 0

    before = certificate.read_bytes()
    certificate.unlink()  # as where it nears its end
    with started(*options, **absent_book) as book:
        open_phones(desk, book.url)
        home = to_pair.partition("phone/")[0]
        with phone.page(state) as page:
            page.goto(f"{home}settings/")
            worked = page.url
            page.wait_for_function(f"{KEPT}.then((pages) => pages.length)")
            desk.reload()
            desk.get_by_role("button", name="End Anna's phone").click()
            desk.get_by_text("Logged out there: Anna's phone.").wait_for()
            fetched = page.evaluate("fetch('/settings/').then((answer) => answer.status)")
            page.goto(f"{home}settings/")
            ended = page.url
            page.wait_for_function(f"{KEPT}.then((pages) => !pages.length)")

    assert before != certificate.read_bytes()
    assert (worked, fetched) == (f"{home}settings/", 401)
    assert ended == f"{home}login/?next=/settings/"
