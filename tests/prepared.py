"""A process with the program loaded, which forks a child for each command: far quicker than a cold start.

`python -m tests.prepared` reads a line of JSON for each command, and answers with one: its exit code and what
it said. A child opens its own connection to the database. It can be killed after a while.
"""

import hashlib
import json
import os
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing, contextmanager
from importlib import import_module
from pathlib import Path

from tests.processes import PATIENCE, ROOT, ends_within, surroundings

# PostgreSQL hears that a client was killed only after the statement that it is at, a COMMIT perhaps.
SESSIONS = "SELECT 1 FROM pg_stat_activity WHERE backend_type = 'client backend'"


class PreparedBook:
    """The process and its book: `run("backup", file)` is what `run_command` is. The book can be put back."""

    def __init__(self, variables: dict):
        self.data = Path(variables["ROUNDBOOK_DATA"])
        self.url = variables.get("DATABASE_URL")
        self.kept = self.data.parent / "kept"
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.prepared"],
            cwd=ROOT,
            env=surroundings(**variables),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def run(self, *arguments, **options) -> subprocess.CompletedProcess:
        """Run a command of manage.py to its end; `largest` is how many bytes a file may have."""
        answer = self.ask(arguments=arguments, **options)
        return subprocess.CompletedProcess(arguments, answer["code"], answer["out"], answer["err"])

    def seconds_of(self, *arguments) -> float:
        """Run a command to its end, and return how long that took."""
        return self.ask(arguments=arguments)["seconds"]

    def kill(self, *arguments, after: float) -> float | None:
        """Kill a command after so many seconds; return how long it took where it had ended by then."""
        answer = self.ask(arguments=arguments, after=after)
        ends = time.monotonic() + PATIENCE
        while self.url and self.on_server(f"{SESSIONS} AND datname = '{self.name}'"):
            assert time.monotonic() < ends, "a session outlives its client"
            time.sleep(0.01)
        return None if answer["code"] == -signal.SIGKILL else answer["seconds"]

    def state(self) -> dict:
        """Do what every command does first; return the rows of all tables and the files, both as digests."""
        answer = self.ask(arguments=["state"])
        assert answer["code"] == 0, answer
        return json.loads(answer["out"])

    def ask(self, arguments, **request) -> dict:
        request["arguments"] = [str(each) for each in arguments]
        self.process.stdin.write(json.dumps(request) + "\n")
        self.process.stdin.flush()
        return json.loads(self.process.stdout.readline())

    def keep(self) -> None:
        """Remember the book as it is now, for `put_back`."""
        shutil.rmtree(self.kept, ignore_errors=True)
        shutil.copytree(self.data, self.kept)
        if self.url:
            self.on_server(f'DROP DATABASE IF EXISTS "{self.name}_kept"')
            self.on_server(f'CREATE DATABASE "{self.name}_kept" TEMPLATE "{self.name}"')

    def put_back(self) -> None:
        """Make the book what it was when it was kept."""
        for path in self.data.iterdir():
            shutil.rmtree(path) if path.is_dir() else path.unlink()
        shutil.copytree(self.kept, self.data, dirs_exist_ok=True)
        if self.url:
            self.on_server(f'DROP DATABASE "{self.name}" WITH (FORCE)')
            self.on_server(f'CREATE DATABASE "{self.name}" TEMPLATE "{self.name}_kept"')

    @property
    def name(self) -> str:
        return self.url.rsplit("/", 1)[1]

    def on_server(self, sql: str) -> list[tuple]:
        import psycopg

        with psycopg.connect(self.url.rsplit("/", 1)[0] + "/postgres", autocommit=True) as server:
            cursor = server.execute(sql)
            return cursor.fetchall() if cursor.description else []

    def sql(self, query: str) -> list[tuple]:
        """Ask the book's database, or change it, from outside; return the rows."""
        if self.url:
            import psycopg

            with psycopg.connect(self.url) as book:
                cursor = book.execute(query)
                return cursor.fetchall() if cursor.description else []
        with closing(sqlite3.connect(self.data / "roundbook.sqlite3")) as book, book:
            return book.execute(query).fetchall()

    def end(self) -> None:
        self.process.stdin.close()
        self.process.wait(timeout=PATIENCE)
        self.process.stdout.close()
        if self.url and self.kept.exists():
            self.on_server(f'DROP DATABASE IF EXISTS "{self.name}_kept"')


@contextmanager
def prepared(variables: dict):
    """Yield a PreparedBook for the book of these variables."""
    book = PreparedBook(variables)
    try:
        yield book
    finally:
        book.end()


def answer(request: dict) -> dict:
    """Run one command in a child, and return how it ended."""
    with tempfile.TemporaryFile("w+") as out, tempfile.TemporaryFile("w+") as err:
        began = time.monotonic()
        child = os.fork()
        if not child:
            in_child(request, out, err)
        after = request.get("after")
        if after is not None and not ends_within(child, after):
            os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        seconds = time.monotonic() - began
        out.seek(0)
        err.seek(0)
        code = os.waitstatus_to_exitcode(status)
        return {"code": code, "out": out.read(), "err": err.read(), "seconds": seconds}


def in_child(request: dict, out, err) -> None:
    import resource

    from practice.project.commands import run

    code = 99
    try:
        os.dup2(out.fileno(), 1)
        os.dup2(err.fileno(), 2)
        if request.get("largest"):
            resource.setrlimit(resource.RLIMIT_FSIZE, (request["largest"], resource.RLIM_INFINITY))
        name, *rest = request["arguments"]
        code = TASKS[name](*rest) if name in TASKS else run(["manage.py", name, *rest])
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(code)


# What says when or by whom, not what is in the book; and what is worked out of it, by the keys of its rows.
PASSING = {
    *("django_migrations", "django_content_type", "auth_permission", "django_session"),
    *("practice_stamp", "find_entry", "find_note"),
}


def said_by(model) -> list[str]:
    """Return the fields whose values are the same whenever and however often a thing was entered."""
    own = ("AutoField", "BigAutoField", "UUIDField", "DateTimeField")
    fields = model._meta.concrete_fields
    return [each.attname for each in fields if not each.is_relation and each.get_internal_type() not in own]


def print_state() -> int:
    from django.apps import apps
    from django.conf import settings

    from billing.actions.receipts import clear_lost_documents
    from practice.project.commands import ensure_book
    from practice.project.tidy import tidy_up

    tidy_up()
    ensure_book()
    clear_lost_documents()
    rows = {
        model._meta.label: sorted(map(repr, model._base_manager.values_list(*said_by(model))))
        for model in apps.get_models()
        if model._meta.db_table not in PASSING
    }
    files = {
        str(path.relative_to(settings.DATA_DIR)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(settings.DATA_DIR.rglob("*"))
        if path.is_file() and not path.name.startswith("roundbook.") and path.suffix not in (".lock", ".log")
    }
    book = {label: hashlib.sha256(repr(found).encode()).hexdigest() for label, found in rows.items()}
    print(json.dumps({"book": book, "files": files}))
    return 0


def replace_the_demo() -> int:
    from practice.project.begin.own_book import begin_own_book

    begin_own_book()
    return 0


def restore_in_browser(name: str) -> int:
    """Look at a backup and restore it, as whoever is logged in does; return 0 where that led home."""
    from django.conf import settings
    from django.contrib.auth import get_user_model
    from django.test import Client

    settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, "testserver"]
    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    settings.STORAGES = settings.STORAGES | {"staticfiles": plain}
    browser = Client()
    user, _ = get_user_model().objects.get_or_create(username="farrier")
    browser.force_login(user)
    look = browser.get(f"/backups/{name}/").content.decode()
    seen = re.search(r'name="seen"\s+value="([^"]+)"', look)[1]
    return 0 if browser.post(f"/backups/{name}/restore/", {"seen": seen}).headers["Location"] == "/" else 1


RESTORE_IN_BROWSER = "restore in browser"
# What a child can do beside the commands.
TASKS = {
    "state": print_state,
    "replace the demo": replace_the_demo,
    RESTORE_IN_BROWSER: restore_in_browser,
}


def main() -> None:
    os.umask(0o077)
    os.environ["DJANGO_SETTINGS_MODULE"] = "practice.project.settings"
    import django

    django.setup()
    # What commands import for themselves, once for all children.
    from django.core.checks import run_checks
    from django.db.migrations.loader import MigrationLoader

    import billing.papers.documents  # noqa: F401
    import practice.project.book.importer  # noqa: F401
    import practice.project.demo.season  # noqa: F401
    import practice.project.tidy  # noqa: F401

    import_module("weasyprint")
    run_checks()
    MigrationLoader(None)
    answers = os.fdopen(os.dup(1), "w")
    for line in sys.stdin:
        answers.write(json.dumps(answer(json.loads(line))) + "\n")
        answers.flush()


if __name__ == "__main__":
    main()
