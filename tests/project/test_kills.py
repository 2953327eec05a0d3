"""Commands killed at any moment: the next one finds the book as before or as after, and no litter.

The moments are seeded, and spread over the shortest time that each command took here so far. On each database
that is 142 kills: 20 each of an import, an export, a backup and the demo's replacement, 10 of a closing (that
has to be closed again each time), 32 of a restore, which has the most steps, and 10 each of a restore in the
browser and of the backup of the day. Making the demo practice is not among them: it is one transaction of an
import and a closing, and takes far longer than all of these.
"""

import random
import shutil
import zipfile
from datetime import timedelta
from pathlib import Path

import pytest

from billing.actions.receipts import keep_receipt
from practice.lib.logo import keep_logo
from practice.project.book.exporter import export_book
from tests.conftest import kept_for_a_module
from tests.factories.billing import ExpenseFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, trim
from tests.folders import content_of
from tests.pictures import PDF, photo
from tests.prepared import RESTORE_IN_BROWSER

pytestmark = [pytest.mark.slow, pytest.mark.django_db]
TIMES, TIMES_CLOSED, TIMES_RESTORED, TIMES_BY_ITSELF, TIMES_IN_BROWSER = 20, 10, 32, 10, 10


@pytest.fixture(scope="module")
def folders(django_db_setup, django_db_blocker, tmp_path_factory):
    """Two book folders: one with work to invoice, and the same with more clients, work and a receipt."""
    from django.conf import settings

    work, data = tmp_path_factory.mktemp("folders"), settings.DATA_DIR
    settings.DATA_DIR = tmp_path_factory.mktemp("data")
    try:
        with kept_for_a_module(django_db_blocker):
            ProfileFactory()
            keep_logo(photo())
            for number in range(3):
                trim(ClientFactory(name=f"Client {number}"), on=DAY)
            ExpenseFactory(ref="fuel", receipt=keep_receipt(photo(colour="black")))
            export_book(work / "first")
            for number in range(3, 6):
                trim(ClientFactory(name=f"Client {number}"), on=DAY + timedelta(1))
            ExpenseFactory(ref="nails", receipt=keep_receipt(PDF))
            export_book(work / "more")
    finally:
        settings.DATA_DIR = data
    return work


@pytest.fixture(scope="module")
def filled(prepared_book, folders):
    """The first book."""
    assert prepared_book.run("import_book", folders / "first").returncode == 0
    prepared_book.state()
    prepared_book.keep()
    return prepared_book


@pytest.fixture
def book(filled):
    filled.put_back()
    return filled


def killed_all_over(book, command, *arguments, times: int = TIMES, makes: Path | None = None):
    """Kill a command all over the time that it takes; yield what the next command finds each time."""
    before = book.state()
    takes = book.seconds_of(command, *arguments)
    seeded, still_ran = random.Random(command), 0
    found = None
    for number in range(times):
        if found != before or command in ("close_day", "restore", RESTORE_IN_BROWSER):
            book.put_back()
        if makes and makes.exists():
            shutil.rmtree(makes) if makes.is_dir() else makes.unlink()
        ended = book.kill(command, *arguments, after=takes * (number + seeded.random()) / times)
        still_ran, takes = still_ran + (ended is None), min(takes, ended or takes)
        found = book.state()
        yield found
    book.put_back()
    assert still_ran > times / 3
    assert book.state() == before


def after(book, *arguments) -> dict:
    """Return the book as it is after a command, and put it back."""
    ended = book.run(*arguments)
    assert ended.returncode == 0, ended.stderr
    state = book.state()
    book.put_back()
    return state


def unlike(found: dict, *states: dict) -> list[str]:
    """Return the models and files in which a book differs from the nearest of these; none where it is one."""
    return min(
        (
            [
                f"{part}: {key}"
                for part in ("book", "files")
                for key in found[part].keys() | state[part].keys()
                if found[part].get(key) != state[part].get(key)
            ]
            for state in states
        ),
        key=len,
    )


def test_an_import_is_all_in_the_book_or_not_at_all(book, folders):
    before, done = book.state(), after(book, "import_book", folders / "more")

    for found in killed_all_over(book, "import_book", folders / "more"):
        assert unlike(found, before, done) == []

    assert before != done


def test_an_export_is_there_whole_or_not_at_all(book, tmp_path):
    before, out = book.state(), tmp_path / "out" / "book"
    out.parent.mkdir()
    assert book.run("export_book", tmp_path / "whole").returncode == 0
    whole = content_of(tmp_path / "whole")

    for found in killed_all_over(book, "export_book", out, makes=out):
        assert (found, content_of(out.parent)) in (
            (before, {}),
            (before, {f"book/{name}": content for name, content in whole.items()}),
        )


def test_a_closing_issues_all_or_nothing_and_again_no_more(book):
    before = book.state()
    close = ("close_day", "--date", DAY.isoformat())
    done = after(book, *close)

    for found in killed_all_over(book, *close, times=TIMES_CLOSED):
        assert found["book"] in (before["book"], done["book"])
        assert set(found["files"]) <= set(done["files"])
        assert book.run(*close).returncode == 0
        numbers = [number for (number,) in book.sql("SELECT number FROM billing_invoice ORDER BY number")]
        assert numbers == [f"GF-{DAY.year}-{number:04}" for number in (1, 2, 3)]
        assert book.state()["book"] == done["book"]


def test_a_backup_is_there_whole_or_not_at_all(book, tmp_path):
    before, copy = book.state(), tmp_path / "copies" / "copy.zip"
    copy.parent.mkdir()

    for found in killed_all_over(book, "backup", copy, makes=copy):
        assert found == before
        assert [path for path in copy.parent.iterdir() if path != copy] == []
        if copy.exists():
            with zipfile.ZipFile(copy) as packed:
                assert packed.testzip() is None


def test_a_restore_brings_all_of_the_other_book_or_nothing(book, tmp_path, folders):
    copy = tmp_path / "copy.zip"
    before = book.state()
    assert book.run("import_book", folders / "more").returncode == 0
    (book.data / "logo.jpg").unlink()
    other = book.state()
    assert book.run("backup", copy).returncode == 0
    book.put_back()

    for found in killed_all_over(book, "restore", copy, "--replace", times=TIMES_RESTORED):
        kept = [name for name in found["files"] if name.startswith("backups/")]
        for name in kept:
            with zipfile.ZipFile(book.data / name) as packed:
                assert packed.testzip() is None
            del found["files"][name]
        assert len(kept) < 2
        assert unlike(found, before, other) == []
        assert found == before or kept


def test_the_demo_is_replaced_by_an_empty_book_all_of_it_or_nothing(book):
    book.sql("UPDATE practice_profile SET is_demo = TRUE")
    book.keep()
    before, empty = book.state(), after(book, "replace the demo")

    try:
        for found in killed_all_over(book, "replace the demo"):
            assert unlike(without_copies(found), before, without_copies(empty)) == []
    finally:
        book.put_back()
        book.sql("UPDATE practice_profile SET is_demo = FALSE")
        book.keep()

    gone = before["files"].keys() - empty["files"].keys()
    assert {name.partition("/")[0] for name in gone} == {"logo.jpg", "receipts"}


def without_copies(state: dict) -> dict:
    """Return the state of a book without its backups, which a killed replacement may have made already."""
    files = {name: digest for name, digest in state["files"].items() if not name.startswith("backups/")}
    return state | {"files": files}


def test_a_backup_of_the_day_is_in_both_folders_whole_or_not_at_all(book, tmp_path):
    second = tmp_path / "stick" / "roundbook-backups"
    code = (
        "from practice.project.backup import second;"
        f"second.name_second_folder({str(second.parent)!r});"
        f"second.own_folder({str(second.parent)!r})"
    )
    second.parent.mkdir()
    assert book.run("shell", "--no-imports", "-c", code).returncode == 0
    [second] = second.parent.iterdir()
    before = book.state()
    takes = book.seconds_of("backup")
    seeded, still_ran = random.Random("day"), 0

    for number in range(TIMES_BY_ITSELF):
        for folder in (second, book.data / "backups"):
            shutil.rmtree(folder)
            folder.mkdir()
        ended = book.kill("backup", after=takes * (number + seeded.random()) / TIMES_BY_ITSELF)
        still_ran, takes = still_ran + (ended is None), min(takes, ended or takes)
        found = book.state()
        copies = [*second.iterdir(), *(book.data / "backups").iterdir()]
        for copy in copies:
            with zipfile.ZipFile(copy) as packed:
                assert packed.testzip() is None
        assert found["book"] == before["book"]
        assert set(found["files"]) - set(before["files"]) <= {f"backups/{copy.name}" for copy in copies}
        assert book.run("backup").returncode == 0
        assert [len(content_of(folder)) for folder in (second, book.data / "backups")] == [1, 1]

    assert still_ran > TIMES_BY_ITSELF / 3


def test_a_restore_in_the_browser_brings_all_of_the_other_book_or_nothing(book, folders):
    before = book.state()
    assert book.run("import_book", folders / "more").returncode == 0
    other = book.state()
    assert book.run("backup").returncode == 0
    [copy] = (book.data / "backups").iterdir()
    content = copy.read_bytes()
    book.put_back()
    copy.parent.mkdir()
    copy.write_bytes(content)
    book.keep()
    done = after(book, RESTORE_IN_BROWSER, copy.stem)

    try:
        for found in killed_all_over(book, RESTORE_IN_BROWSER, copy.stem, times=TIMES_IN_BROWSER):
            kept = [name for name in found["files"] if name.startswith("backups/before-")]
            for name in kept:
                with zipfile.ZipFile(book.data / name) as packed:
                    assert packed.testzip() is None
                del found["files"][name]
            del found["files"][f"backups/{copy.name}"]
            assert len(kept) < 2
            assert found["files"] in (before["files"], other["files"])
            assert without_logins(found) in (without_logins(before), without_logins(other))
    finally:
        book.put_back()
        shutil.rmtree(copy.parent)
        book.keep()
    assert without_logins(done) == without_logins(other)


def without_logins(state: dict) -> dict:
    """Return the rows of a book but those of logins and of who logged in when."""
    return {label: rows for label, rows in state["book"].items() if not label.startswith(("auth.", "axes."))}
