"""Backups in the browser and by themselves: made, looked at, restored, kept in a second folder, and said."""

import errno
import io
import shutil
import threading
import zipfile
from datetime import datetime, timedelta

import pytest
from django.contrib.messages import get_messages
from django.db import connection
from django.test import Client as Browser

from practice.lib.errors import RuleBroken
from practice.lib.today import now
from practice.models import Client
from practice.project import backup_worker
from practice.project.backup import daily
from practice.project.backup.contents import FOLDER
from practice.project.backup.daily import back_up, back_up_today, is_due
from practice.project.backup.kept import (
    BEFORE_RESTORE,
    DAILY,
    backups_folder,
    copies_in,
    new_copy,
)
from practice.project.backup.page import what_to_look_at
from practice.project.backup.restoring import IS_A_FOLDER
from practice.project.backup.second import name_second_folder, own_folder
from practice.project.backup.state import backup_state
from practice.project.backup_worker import AGAIN_SECONDS, LOOK_SECONDS, BackupWorker
from practice.project.book.importer import import_book
from practice.project.exits import EnvironmentProblem
from tests.factories.practice import DAY, ClientFactory, HorseFactory, ProfileFactory, VisitFactory
from tests.folders import content_of

pytestmark = [pytest.mark.django_db(transaction=True)]
MORNING = datetime(2026, 10, 14, 7, 42)


@pytest.fixture
def data(settings, tmp_path):
    """An empty data folder, on DAY."""
    settings.TODAY, settings.DATA_DIR = DAY, tmp_path / "data"
    settings.DATA_DIR.mkdir()
    return settings.DATA_DIR


@pytest.fixture
def book(data):
    """A book with a client in it."""
    ProfileFactory(name="Garrow Farriery")
    ClientFactory(name="Ann")


def names() -> set[str]:
    return set(Client.objects.values_list("name", flat=True))


def said(answer) -> list[str]:
    return [str(message) for message in get_messages(answer.wsgi_request)]


def tick(page) -> dict:
    return {"seen": page.context["page"].seal}


def test_a_backup_is_looked_at_and_restored_and_the_book_before_is_kept(book, browser):
    HorseFactory(name="Juniper")
    made = browser.post("/backups/now/")
    [copy] = copies_in(backups_folder())
    ClientFactory(name="Ben")
    VisitFactory()

    look = browser.get(f"/backups/{copy.name}/")
    done = browser.post(f"/backups/{copy.name}/restore/", tick(look))
    after = names()
    [before, _] = copies_in(backups_folder())
    again = browser.get(f"/backups/{before.name}/")
    browser.post(f"/backups/{before.name}/restore/", tick(again))

    assert (made.status_code, made.url) == (302, "/backups/")
    assert look.context["page"].answer == "Restoring it removes 1 client and 1 stop added since."
    assert (done.status_code, done.url) == (302, "/")
    assert ("Ann" in after, "Ben" in after) == (True, False)
    assert before.kind == BEFORE_RESTORE
    assert again.context["page"].answer == "Nothing was added since this backup."
    assert "Ben" in names()


def test_whoever_restores_stays_logged_in_and_everybody_else_does_not(book, browser):
    other = Browser()
    other.force_login(browser.get("/backups/").wsgi_request.user)
    copy = back_up(now())
    look = browser.get(f"/backups/{copy.name}/")

    browser.post(f"/backups/{copy.name}/restore/", tick(look))

    assert browser.get("/backups/").status_code == 200
    assert other.get("/backups/").url == "/login/?next=/backups/"


def test_a_login_that_the_backup_does_not_have_is_logged_out(book, client, django_user_model):
    copy = back_up(now())
    client.force_login(django_user_model.objects.create_user("apprentice"))
    look = client.get(f"/backups/{copy.name}/")

    client.post(f"/backups/{copy.name}/restore/", tick(look))

    assert client.get("/backups/").url == "/login/?next=/backups/"


@pytest.mark.parametrize("typed", [{}, {"seen": "on"}, {"seen": "roundbook-2026-10-14-074200/1"}])
def test_nothing_is_restored_without_the_tick_of_the_backup_that_was_looked_at(book, browser, typed):
    copy = back_up(MORNING)
    ClientFactory(name="Ben")

    answer = browser.post(f"/backups/{copy.name}/restore/", typed)

    assert said(answer) == ["Tick the box above the button first, then press it again."]
    assert "Ben" in names()
    assert len(copies_in(backups_folder())) == 1


def test_a_damaged_backup_is_refused_at_the_look_and_at_the_restore(book, browser):
    copy = back_up(MORNING)
    whole = copy.path.read_bytes()
    copy.path.write_bytes(whole[:300] + b"\0" * 40 + whole[340:])

    look = browser.get(f"/backups/{copy.name}/")
    answer = browser.post(f"/backups/{copy.name}/restore/", tick(look))

    assert look.context["page"].answer == "This backup cannot be restored here."
    assert " is not an intact backup: " in look.context["page"].refusal
    assert [" is not an intact backup: " in each for each in said(answer)] == [True]
    assert len(copies_in(backups_folder())) == 1


@pytest.mark.parametrize("name", ["roundbook-2026-10-14-074200", "secret", "before-restore-1", "journal"])
def test_what_is_no_backup_is_no_page(book, browser, name):
    (backups_folder()).mkdir()
    (backups_folder() / "secret.zip").write_text("mine")

    answers = [browser.get(f"/backups/{name}/{end}").status_code for end in ("", "file/")]

    assert answers == [404, 404]


def test_a_backup_is_downloaded_with_a_login_only(book, browser, client):
    copy = back_up(MORNING)

    answer = browser.get(f"/backups/{copy.name}/file/")
    content = b"".join(answer.streaming_content)
    browser.logout()

    assert content == copy.path.read_bytes()
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{copy.path.name}"'
    assert browser.get(f"/backups/{copy.name}/file/").status_code == 302


def test_the_list_says_how_old_each_backup_is_and_what_is_in_it(book, browser):
    HorseFactory(place__name="Barn")
    VisitFactory(status="done", date=DAY - timedelta(3))
    back_up(MORNING - timedelta(2))

    page = browser.get("/backups/").context["page"]

    [row] = page.rows
    clients = Client.objects.count()
    assert page.answer == "Last backed up Monday, October 12."
    assert (row.name, row.fact, row.note) == ("Mon, Oct 12, 7:42\u202fAM", "1 MB", "2 days old")
    assert row.more == f"{clients} client{'s' * (clients > 1)}, 1 horse, 1 stop, 0 invoices, last stop Oct 11"


def left_from(*moments: datetime) -> None:
    """Leave files as backups of these moments leave them."""
    backups_folder().mkdir(exist_ok=True)
    for moment in moments:
        new_copy(DAILY, moment).write_bytes(b"packed")


def test_one_backup_a_day_is_made_and_old_ones_go(book):
    left_from(*(MORNING - timedelta(days) for days in range(1, 10)))

    first, is_new = back_up_today(MORNING)
    again, is_new_again = back_up_today(MORNING + timedelta(hours=3))

    assert (is_new, is_new_again, again) == (True, False, first)
    assert [copy.made.day for copy in copies_in(backups_folder())] == [14, 13, 12, 11, 10, 9, 8]


def test_an_empty_book_has_nothing_to_back_up(data):
    assert is_due(DAY) is False


def test_the_backup_of_the_day_is_made_once_a_page_was_opened(book, browser, monkeypatch):
    monkeypatch.setattr(backup_worker, "_used_on", None)
    worker = BackupWorker(threading.Event())

    pauses = [worker.look()]
    before = copies_in(backups_folder())
    browser.get("/round/")
    pauses += [worker.look(), worker.look()]

    assert (before, len(copies_in(backups_folder()))) == ([], 1)
    assert pauses == [LOOK_SECONDS] * 3


def test_a_page_that_needs_no_login_is_no_use_of_the_book(book, client, monkeypatch):
    monkeypatch.setattr(backup_worker, "_used_on", None)

    client.get("/health/")
    client.get("/round/")

    assert backup_worker._used_on is None


def no_room(target, **options):
    raise OSError(errno.ENOSPC, "No space left on device")


def broken(target, **options):
    raise RuleBroken("backup_damaged", "The copy is not an intact backup: its database is damaged.")


FAILURES = {
    no_room: "The disk of the computer that runs Roundbook is full. Free some space.",
    broken: "The copy is not an intact backup: its database is damaged.",
}


@pytest.mark.parametrize("fails", FAILURES, ids=lambda fails: fails.__name__)
def test_a_backup_that_fails_is_said_until_one_succeeds(book, browser, monkeypatch, caplog, fails):
    HorseFactory()
    monkeypatch.setattr(backup_worker, "_used_on", DAY)
    with monkeypatch.context() as patch:
        patch.setattr(daily, "make_backup", fails)
        pause = BackupWorker(threading.Event()).look()
        answer = browser.post("/backups/now/")
    home, page = (browser.get(url).context for url in ("/", "/backups/"))
    copies = copies_in(backups_folder())
    BackupWorker(threading.Event()).look()

    assert pause == AGAIN_SECONDS
    assert "a backup failed" in caplog.messages
    assert said(answer) == [f"The backup failed. {FAILURES[fails]}"]
    assert home["home"].backups == page["page"].problem == f"The last backup failed. {FAILURES[fails]}"
    assert (copies, what_to_look_at(DAY), len(copies_in(backups_folder()))) == ([], "", 1)


def test_no_backup_is_begun_that_would_leave_no_room_for_the_book(book, monkeypatch):
    monkeypatch.setattr(daily, "free_room", lambda folder: 49_000_000)

    with pytest.raises(EnvironmentProblem) as refused:
        back_up(MORNING)

    assert " of free disk space, and " in str(refused.value)
    assert str(refused.value).endswith(" has 49 MB. Free some space.")
    assert backup_state().problem == str(refused.value)
    assert copies_in(backups_folder()) == []


@pytest.mark.parametrize(
    ("days", "words"),
    [(0, ""), (2, ""), (3, "The newest backup is 3 days old."), (9, "The newest backup is 9 days old.")],
)
def test_home_says_when_the_newest_backup_is_older_than_two_days(data, days, words):
    left_from(MORNING)

    assert what_to_look_at(DAY + timedelta(days)) == words


def test_a_second_folder_gets_each_backup_and_what_it_missed(book, browser, tmp_path):
    stick = tmp_path / "stick"
    stick.mkdir()
    answer = browser.post("/backups/folder/", {"folder": str(stick)})
    first = back_up(MORNING)
    stick.rename(tmp_path / "pulled out")
    second = back_up(MORNING + timedelta(1))
    missing = browser.get("/backups/").context["page"].second
    (tmp_path / "pulled out").rename(stick)
    due = is_due(DAY)
    back_up_today(MORNING + timedelta(1))

    assert (answer.status_code, answer.url) == (302, "/backups/")
    assert missing.startswith(f"{stick} is not there. ")
    assert due is True
    assert content_of(own_folder(str(stick))) == {
        copy.path.name: copy.path.read_bytes() for copy in (first, second)
    }
    assert (backup_state().second_problem, backup_state().second_day) == ("", "2026-10-15")
    assert is_due(DAY + timedelta(1)) is False


def test_nothing_is_written_to_an_empty_folder_that_is_there_instead_of_the_stick(book, tmp_path):
    mount = tmp_path / "mount"
    mount.mkdir()
    name_second_folder(str(mount))
    shutil.rmtree(own_folder(str(mount)))

    back_up(MORNING)

    assert list(mount.iterdir()) == []
    assert backup_state().second_problem == f"{mount} is not there."


def test_a_second_folder_keeps_as_many_and_leaves_other_files_alone(book, tmp_path):
    name_second_folder(str(tmp_path))
    folder = own_folder(str(tmp_path))
    (folder / "letter.txt").write_text("mine")
    (folder / ".roundbook-2026-10-01-070000.zip.0123abcd.draft").write_text("half")
    left_from(*(MORNING - timedelta(days) for days in range(1, 9)))

    back_up_today(MORNING)

    assert len(copies_in(folder)) == 7
    assert {path.name for path in folder.iterdir()} == {
        "letter.txt",
        *(copy.path.name for copy in copies_in(backups_folder())),
    }


def test_without_pg_dump_the_day_is_kept_as_the_books_own_folder(book, browser, tmp_path, monkeypatch):
    """On SQLite nothing else is needed: there the copy is the database, whatever programs there are."""
    monkeypatch.setenv("PATH", str(tmp_path))

    copy = back_up(MORNING)
    look = browser.get(f"/backups/{copy.name}/")
    answer = browser.post(f"/backups/{copy.name}/restore/", tick(look))

    is_folder = connection.vendor == "postgresql"
    with zipfile.ZipFile(copy.path) as packed:
        assert (FOLDER in packed.namelist(), copy.counts.practice) == (is_folder, "Garrow Farriery")
        folder = io.BytesIO(packed.read(FOLDER)) if is_folder else None
    assert said(answer) == [
        IS_A_FOLDER if is_folder else "Restored. The book as it was just before is kept among the backups."
    ]
    if folder:
        with zipfile.ZipFile(folder) as packed:
            packed.extractall(tmp_path / "unpacked")
        Client.objects.all().delete()
        import_book(tmp_path / "unpacked")
    assert names() == {"Ann"}


def test_home_says_when_the_second_folder_was_gone_for_a_week(book, tmp_path):
    stick = tmp_path / "stick"
    stick.mkdir()
    name_second_folder(str(stick))
    back_up(MORNING)
    shutil.rmtree(stick)
    after = []
    for days in (7, 8):
        left_from(MORNING + timedelta(days))
        back_up_today(MORNING + timedelta(days))
        after.append(what_to_look_at(DAY + timedelta(days)))

    assert after == ["", f"The newest backups are missing from the second folder. {stick} is not there."]


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("stick", "folder_not_absolute"),
        ("/no/such/stick", "folder_not_found"),
        ("{data}/receipts", "folder_in_book"),
    ],
)
def test_a_second_folder_has_to_be_one_elsewhere(data, typed, code):
    (data / "receipts").mkdir()

    with pytest.raises(RuleBroken) as refused:
        name_second_folder(typed.format(data=data))

    assert (refused.value.code, backup_state().second) == (code, "")


def test_what_went_wrong_is_remembered_also_where_it_cannot_be_written(book, data, monkeypatch):
    from practice.project.backup import state

    monkeypatch.setattr(state, "_unwritten", None)
    with monkeypatch.context() as patch:
        patch.setattr(state, "replace_file", lambda path, content: no_room(path))
        state.note(problem="The disk is full.")
    unwritten = backup_state().problem
    state.note(problem="")

    assert (unwritten, backup_state().problem, state._unwritten) == ("The disk is full.", "", None)
