"""A full disk: said plainly by every command and on the page, and nothing is left by halves."""

import errno
import io
import logging
import random
import shutil
from collections import namedtuple
from contextlib import contextmanager

import pytest
from django.conf import settings
from django.db import OperationalError, connection
from PIL import Image

from practice.lib.presses import new_press
from practice.models import Client
from practice.project.backup.contents import Contents
from practice.project.backup.restoring import _look_for_room
from practice.project.exits import EnvironmentProblem, exit_code_of
from practice.project.log import LogFile
from tests.factories.practice import ProfileFactory
from tests.folders import content_of

Usage = namedtuple("Usage", "total used free")


@contextmanager
def no_room_in_the_database():
    """Let the database take no more: SQLite's file may not grow, PostgreSQL says that its disk is full."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            [size] = cursor.execute("PRAGMA page_count").fetchone()
            cursor.execute(f"PRAGMA max_page_count={size}")
        else:
            cursor.execute(
                "CREATE FUNCTION no_room() RETURNS trigger LANGUAGE plpgsql AS"
                " $$ BEGIN RAISE disk_full USING MESSAGE = 'could not extend file'; END $$;"
                "CREATE TRIGGER no_room BEFORE INSERT ON practice_client EXECUTE FUNCTION no_room();"
            )
    yield
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA max_page_count=1073741823")
        else:
            cursor.execute("DROP FUNCTION no_room() CASCADE")


@pytest.mark.django_db(transaction=True)
def test_the_page_says_what_to_do(browser):
    ProfileFactory()
    browser.raise_request_exception = False
    typed = {"name": "Ember Ridge", "billing": Client.Billing.PER_DAY, "notes": "long " * 40_000}
    typed["uuid"] = new_press()

    with no_room_in_the_database():
        answer = browser.post("/clients/add/", typed)

    page = answer.content.decode()
    assert (answer.status_code, Client.objects.count()) == (507, 0)
    assert "<h1>The disk is full.</h1>" in page
    assert "Your last step was not saved." in page
    assert "empty the trash or move large files to another disk" in page


@pytest.mark.django_db(transaction=True)
def test_a_command_says_so_and_what_to_do(capsys):
    ProfileFactory()
    with no_room_in_the_database(), pytest.raises(OperationalError) as full:
        Client.objects.create(name="Ember Ridge", notes="long " * 40_000)

    assert exit_code_of(full.value, ["manage.py", "import_book"]) == 3
    reason = "database or disk is full" if connection.vendor == "sqlite" else "could not extend file"
    assert capsys.readouterr().err == (
        f"The disk is full: {reason}. Free some space, then run the command again.\n"
    )


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EDQUOT, errno.EFBIG])
def test_a_file_that_does_not_fit_is_the_machines_lack(capsys, number):
    assert exit_code_of(OSError(number, "No space left on device"), ["manage.py", "export_book"]) == 3
    assert capsys.readouterr().err == (
        "The disk is full: No space left on device. Free some space, then run the command again.\n"
    )


def test_a_log_that_cannot_be_written_says_so_once_and_prints_no_traceback(capsys):
    log = LogFile("/dev/full", delay=True)
    for _ in range(2):
        log.handle(logging.makeLogRecord({"msg": "unexpected"}))

    assert capsys.readouterr() == (
        "",
        "The log /dev/full cannot be written: [Errno 28] No space left on device\n",
    )
    log.stream = io.StringIO()  # what it still holds cannot be written either
    assert settings.LOGGING["handlers"]["file"]["class"] == f"{LogFile.__module__}.{LogFile.__name__}"


def noise(width: int) -> bytes:
    """Return a PNG that no packing makes smaller than its pixels: three bytes each."""
    return photo_of(random.Random(1).randbytes(3 * width * width), width)


def photo_of(pixels: bytes, width: int) -> bytes:
    out = io.BytesIO()
    Image.frombytes("RGB", (width, width), pixels).save(out, "PNG")
    return out.getvalue()


@pytest.mark.slow
@pytest.mark.django_db
@pytest.mark.parametrize(
    ("command", "name", "largest"),
    [("backup", "new.zip", 2_000_000), ("restore", "copy.zip", 2_000_000), ("export_book", "out", 200_000)],
)
def test_what_does_not_fit_leaves_no_half_file_and_calls_no_copy_bad(
    prepared_book, tmp_path, command, name, largest
):
    (prepared_book.data / "receipts").mkdir(parents=True, exist_ok=True)
    (prepared_book.data / "receipts" / "large.png").write_bytes(noise(900))
    (prepared_book.data / "logo.png").write_bytes(noise(300))
    assert prepared_book.run("backup", tmp_path / "copy.zip").returncode == 0
    before, there = prepared_book.state(), content_of(tmp_path)

    ended = prepared_book.run(command, tmp_path / name, largest=largest)

    assert (ended.returncode, ended.stdout) == (3, "")
    assert ended.stderr == "The disk is full: File too large. Free some space, then run the command again.\n"
    assert (prepared_book.state(), content_of(tmp_path)) == (before, there)


def test_a_restore_looks_for_room_for_the_copy_and_the_book(monkeypatch, tmp_path, settings):
    settings.DATA_DIR = tmp_path
    (tmp_path / "roundbook.sqlite3").write_bytes(bytes(2_000_000))
    contents = Contents("1", "", "roundbook.sqlite3", {})
    monkeypatch.setattr(shutil, "disk_usage", lambda folder: Usage(10**9, 0, 12_345_678))

    with pytest.raises(EnvironmentProblem) as refused:
        _look_for_room(contents, 3_000_000)

    assert str(refused.value) == (
        f"Restoring this backup takes 18 MB of free disk space, and {tmp_path} has 13 MB."
        " Free some space, then restore it again. Nothing was changed."
    )
    monkeypatch.setattr(shutil, "disk_usage", lambda folder: Usage(10**9, 0, 18_000_000))
    assert _look_for_room(contents, 3_000_000) is None
