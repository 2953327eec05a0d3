"""What all tests share. Their book lies in a temporary data folder of its own (own_book.py)."""

import contextlib
import gc
import os
import shutil
import sqlite3
import time
from pathlib import Path

import hypothesis
import pytest

from tests.folders import content_of
from tests.own_book import DATA
from tests.prepared import prepared
from tests.processes import free_port, run_command, started

# Chromium without a window: it opens a page in a quarter of the time.
HEADLESS = "chromium-headless-shell"
CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--accept-lang=en-US,en",  # without a window it would ask for no language
]


def pytest_configure():
    from django.conf import settings

    if settings.DATA_DIR.resolve() != Path(DATA.name).resolve():
        pytest.exit("The tests have no book of their own: run `python -m pytest` beside manage.py.")
    # How long an example takes says nothing of what it shows.
    hypothesis.settings.register_profile(
        "no clock", deadline=None, suppress_health_check=[hypothesis.HealthCheck.too_slow]
    )
    hypothesis.settings.load_profile("no clock")
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.STORAGES = settings.STORAGES | {
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    }


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """Mark what a browser shows as `looks`, but for the farrier's path."""
    for item in items:
        if "chromium" in item.fixturenames and not item.get_closest_marker("path"):
            item.add_marker("looks")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    if config.getoption("dist") != "loadgroup":
        return None
    from tests.workers import DealingTogether

    return DealingTogether(config, log)


@pytest.hookimpl(trylast=True)
def pytest_collection_finish():
    """Look for garbage seldom, and never among what was loaded: that took a seventh of a run's time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


@pytest.fixture(scope="session")
def django_db_modify_db_settings():
    """Name the tests' database as the settings do, so that child processes of a test find it."""
    from django.db import connection

    connection.settings_dict["TEST"]["NAME"] = connection.settings_dict["NAME"]


@pytest.fixture(scope="session", autouse=True)
def flush_may_empty_the_ledger():
    """Let the flush after a transactional test delete the rows that triggers protect.

    A flush says that it is done as a migration does, and `practice/project/furnish.py` brings triggers and
    known rates again.
    """
    from django.db.backends.sqlite3.base import DatabaseWrapper

    operations = DatabaseWrapper.ops_class
    flush = operations.execute_sql_flush

    def without_triggers(self, sql_list):
        with self.connection.cursor() as cursor:
            rows = cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
            for (name,) in rows:
                cursor.execute(f'DROP TRIGGER "{name}"')
        flush(self, sql_list)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(operations, "execute_sql_flush", without_triggers)
        yield


@contextlib.contextmanager
def book_of_its_own(folder, blocker, template=None):
    """Yield the variables of a book that is not made yet, on the kind of database that the tests run on.

    It is made from a template where one is named: a SQLite file, or a PostgreSQL database.
    """
    from django.db import connection

    variables = {"ROUNDBOOK_DATA": folder / "book"}
    if connection.vendor == "sqlite":
        if template:
            (folder / "book").mkdir()
            shutil.copyfile(template, folder / "book" / "roundbook.sqlite3")
        yield variables
        return
    name = f"{connection.settings_dict['NAME']}_{folder.name}"
    with blocker.unblock(), connection._nodb_cursor() as cursor:
        cursor.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template or "template1"}"')
    yield variables | {"DATABASE_URL": os.environ["DATABASE_URL"].rsplit("/", 1)[0] + f"/{name}"}
    with blocker.unblock(), connection._nodb_cursor() as cursor:
        cursor.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture
def absent_book(tmp_path, django_db_blocker):
    """The variables of a book that is not made yet, for commands in processes of their own."""
    with book_of_its_own(tmp_path, django_db_blocker) as variables:
        yield variables


@pytest.fixture(scope="session")
def empty_template(django_db_setup, tmp_path_factory, django_db_blocker):
    """A copy of the tests' database, migrated and empty as it is between tests."""
    from django.db import connection

    name = connection.settings_dict["NAME"]
    if connection.vendor == "sqlite":
        file = tmp_path_factory.mktemp("empty") / "empty.sqlite3"
        with contextlib.closing(sqlite3.connect(name)) as whole:
            whole.execute("VACUUM INTO ?", [str(file)])
        yield file
        return
    with django_db_blocker.unblock():
        connection.close()  # PostgreSQL copies a database that nobody has open
        with connection._nodb_cursor() as cursor:
            cursor.execute(f'CREATE DATABASE "{name}_empty" TEMPLATE "{name}"')
    yield f"{name}_empty"
    with django_db_blocker.unblock(), connection._nodb_cursor() as cursor:
        cursor.execute(f'DROP DATABASE "{name}_empty"')


@pytest.fixture
def empty_book(empty_template, db, tmp_path, django_db_blocker):
    """The variables of an empty book that is migrated already: quicker than an absent one."""
    with book_of_its_own(tmp_path, django_db_blocker, empty_template) as variables:
        yield variables


@pytest.fixture(scope="module")
def prepared_book(empty_template, tmp_path_factory, django_db_blocker):
    """A migrated, empty book with a process that runs commands on it quickly (`tests/prepared.py`).

    Its tests are marked `django_db`, as the book is a copy of the tests' database.
    """
    folder = tmp_path_factory.mktemp("prepared")
    with book_of_its_own(folder, django_db_blocker, empty_template) as variables, prepared(variables) as book:
        yield book


@pytest.fixture
def check_it_comes_back(empty_book, tmp_path):
    """Return a function that brings a folder into an empty book and sees that it goes out the same."""

    def check(folder):
        brought = run_command("import_book", folder, **empty_book)
        again = run_command("export_book", tmp_path / "again", **empty_book)

        assert (brought.returncode, brought.stderr, again.returncode) == (0, "", 0)
        assert content_of(tmp_path / "again") == content_of(folder)

    return check


@contextlib.contextmanager
def kept_for_a_module(blocker):
    """What is written here stays until it ends; each test in between takes back only its own."""
    from django.db import transaction

    with blocker.unblock(), transaction.atomic():
        yield
        transaction.set_rollback(True)


@pytest.fixture(scope="session")
def kept_book(tmp_path_factory, django_db_blocker):
    """The variables of an empty book that was started before; what a test leaves in it, others find."""
    with book_of_its_own(tmp_path_factory.mktemp("kept"), django_db_blocker) as variables:
        # A port of its own: tests that start from 8000 on may run beside.
        with started("--empty", "--port", free_port(), **variables) as book:
            book.end()
        yield variables


@pytest.fixture
def user(db, django_user_model):
    return django_user_model.objects.create_user("farrier", password="six nails a shoe")


@pytest.fixture
def browser(client, user):
    """Django's test client, logged in. (A client is who pays.)"""
    client.force_login(user)
    return client


BROWSER_PATIENCE = 60_000  # milliseconds until what does not come fails a test, also on a busy machine

# A form that is recorded first (`js/queue.js`) leads on when it is sent; without signal it stays and says so.
IS_RECORDING = """() => [...document.forms].some((form) => form.isRecorded)
  && !document.querySelector("main .message")?.innerText.startsWith("Saved on this phone")"""


def settle(page):
    """Wait until what was done on a page is answered: by a page that stands there, or by a part of one."""
    from playwright.sync_api import Error

    ends = time.monotonic() + BROWSER_PATIENCE / 1000
    while time.monotonic() < ends:
        if page.is_closed():
            return
        with contextlib.suppress(Error):  # another page just takes its place
            page.wait_for_load_state("domcontentloaded")
            if not page.evaluate(IS_RECORDING) and not getattr(page, "asked", ()):
                return
            page.wait_for_timeout(20)
    pytest.fail(f"{page.url} was not answered: {[each.url for each in getattr(page, 'asked', ())]}")


def watch(page):
    """Gather in `page.asked` the requests that have no answer yet."""
    page.asked = asked = set()
    page.on("request", lambda request: asked.add(request))
    for answered in ("requestfinished", "requestfailed"):
        page.on(answered, lambda request: asked.discard(request))


@pytest.fixture(scope="session")
def chromium():
    from playwright.sync_api import Locator, expect, sync_playwright

    path = shutil.which(HEADLESS)
    if not path:
        pytest.fail(f"The browser tests need Debian's package {HEADLESS}.")
    click = Locator.click

    def click_and_settle(locator, **options):
        """Click, and wait for all that the click leads to: Playwright waits only until a page begins."""
        click(locator, **options)
        settle(locator.page)

    with sync_playwright() as playwright, pytest.MonkeyPatch.context() as patch:
        patch.setattr(Locator, "click", click_and_settle)
        expect.set_options(timeout=BROWSER_PATIENCE)
        running = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
        yield running
        running.close()


# The service worker that a test does without, and what htmx says where a newer request took another's place.
NO_PROBLEMS = ("blocked by Playwright", "htmx:afterRequest", "htmx:sendAbort")


def is_problem(message) -> bool:
    """Whether a console complains of something. (A request that failed is `htmx:sendError` as well.)"""
    return message.type in ("error", "warning") and not any(said in message.text for said in NO_PROBLEMS)


@pytest.fixture
def open_page(chromium, live_server):
    """Return a function that opens a page, logged in where a user is given.

    What the console and the network complain of is gathered in `page.problems`. There is no service worker
    unless a test says `service_workers="allow"`: what a worker asks for, no test can stop or change.
    """
    contexts = []

    def open_at(width, height, user=None, service_workers="block", **options):
        context = chromium.new_context(
            base_url=live_server.url,
            viewport={"width": width, "height": height},
            service_workers=service_workers,
            **options,
        )
        contexts.append(context)
        context.on("page", watch)
        context.set_default_timeout(BROWSER_PATIENCE)
        if user:
            context.add_cookies([{**session_cookie(user), "url": live_server.url}])
        page = context.new_page()
        page.problems = []
        page.on("console", lambda m: is_problem(m) and page.problems.append(m.text))
        page.on("pageerror", lambda error: page.problems.append(str(error)))
        return page

    yield open_at
    for context in contexts:
        context.close()


def session_cookie(user) -> dict:
    """Return the session cookie of a user who just logged in."""
    from django.conf import settings
    from django.test import Client

    client = Client()
    client.force_login(user)
    return {"name": settings.SESSION_COOKIE_NAME, "value": client.cookies[settings.SESSION_COOKIE_NAME].value}


PHONE, DESK = (390, 844), (1280, 900)


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def page(request, open_page):
    """A page at phone and at desk size, not logged in. Tests need `django_db(transaction=True)`."""
    return open_page(*request.param)


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def own_page(request, transactional_db, django_user_model, open_page):
    """A page at phone and at desk size, logged in as a farrier."""
    user = django_user_model.objects.create_user("farrier", password="six nails a shoe")
    return open_page(*request.param, user=user)
