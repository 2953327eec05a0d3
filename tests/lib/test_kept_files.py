"""Files written whole or not at all, also on a full disk and by processes that are killed."""

import os
import signal
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import transaction

from practice.lib.kept_files import (
    clear_drafts,
    clear_lost_files,
    draft_of,
    keep_file,
    keep_with_rows,
    replace_file,
)
from practice.lib.logo import keep_logo
from tests.folders import content_of
from tests.full_disk import no_file_larger_than
from tests.pictures import photo
from tests.processes import PATIENCE, ROOT, surroundings

WRITERS, ROUNDS = 8, 40
WRITES = """
import sys
from pathlib import Path
from practice.lib.kept_files import keep_file, replace_file
folder, number, rounds = Path(sys.argv[1]) / "2026", sys.argv[2], int(sys.argv[3])
print(flush=True)
sys.stdin.readline()
for name in range(rounds):
    keep_file(folder / f"kept {name}", number.encode() * 5000)
    replace_file(folder / f"replaced {name}", number.encode() * 5000)
"""


@pytest.fixture
def folder(settings, tmp_path):
    """A data folder of its own."""
    settings.DATA_DIR = tmp_path
    return tmp_path


def in_a_killed_process(write) -> None:
    """Do it in a child process, which dies right after."""
    child = os.fork()
    if not child:
        try:
            write()
        finally:
            os.kill(os.getpid(), signal.SIGKILL)
    os.waitpid(child, 0)


@pytest.mark.parametrize(("write", "then"), [(keep_file, b"old"), (replace_file, b"new")])
def test_a_file_is_kept_or_replaced_for_its_owner_alone(folder, write, then):
    path = folder / "receipts" / "a.pdf"
    write(path, b"old")

    write(path, b"new")

    assert content_of(folder) == {"receipts/a.pdf": then}
    assert (path.stat().st_mode & 0o777, path.parent.stat().st_mode & 0o777) == (0o600, 0o700)


@pytest.mark.parametrize("write", [keep_file, replace_file])
def test_a_full_disk_leaves_no_half_file(folder, write):
    path = folder / "a.pdf"

    with no_file_larger_than(1000), pytest.raises(OSError, match="File too large"):
        write(path, b"x" * 5000)

    assert content_of(folder) == {}


def test_a_logo_that_does_not_fit_leaves_the_one_before(folder):
    keep_logo(photo())

    with no_file_larger_than(100), pytest.raises(OSError, match="File too large"):
        keep_logo(photo(format="PNG"))

    assert content_of(folder) == {"logo.jpg": photo()}


def test_another_logo_takes_the_place_of_the_one_before(folder):
    keep_logo(photo())

    keep_logo(photo(format="PNG"))

    assert content_of(folder) == {"logo.png": photo(format="PNG")}


def test_what_a_killed_process_was_writing_is_cleared(folder):
    other = folder / "elsewhere"
    other.mkdir()

    def write():
        with draft_of(other / "copy.zip") as file, draft_of(other / "book") as out:
            file.write_bytes(b"half")
            out.mkdir()
            (out / "clients.csv").write_bytes(b"half")
            os.kill(os.getpid(), signal.SIGKILL)

    in_a_killed_process(write)
    left = content_of(folder)

    clear_drafts()

    assert len(left) == 4  # two drafts, two notes
    assert content_of(folder) == {}


def test_what_a_running_process_is_writing_stays(folder):
    with draft_of(folder / "copy.zip") as draft:
        draft.write_bytes(b"so far")

        clear_drafts()

        assert draft.read_bytes() == b"so far"
    assert content_of(folder) == {}


@pytest.mark.parametrize("note", ["", "receipts/a.pdf", "{folder}/receipts/a.pdf", "\x00"])
def test_a_note_that_names_no_draft_deletes_nothing(folder, note):
    keep_file(folder / "receipts" / "a.pdf", b"mine")
    (folder / "drafts" / "note").write_text(note.format(folder=folder))

    clear_drafts()
    clear_lost_files(lambda path: True)

    assert content_of(folder) == {"receipts/a.pdf": b"mine"}


@pytest.mark.parametrize("write", [keep_file, replace_file])
def test_threads_that_write_one_file_at_once_leave_it_whole_and_nothing_else(write, folder):
    path, together = folder / "2026" / "GF-2026-0001.pdf", Barrier(WRITERS, timeout=PATIENCE)

    def write_often(number):
        for _ in range(ROUNDS):
            together.wait()
            write(path, number * 5000)
            assert len(path.read_bytes()) == 5000

    with ThreadPoolExecutor(WRITERS) as pool:
        list(pool.map(write_often, [bytes([number]) for number in b"abcdefgh"]))

    assert len(set(path.read_bytes())) == 1
    assert list(content_of(folder)) == ["2026/GF-2026-0001.pdf"]


def test_processes_that_write_the_same_files_at_once_leave_them_whole_and_nothing_else(folder):
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITES, folder, letter, str(ROUNDS)],
            cwd=ROOT,
            env=surroundings(ROUNDBOOK_DATA=folder, DJANGO_SETTINGS_MODULE="practice.project.settings"),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        for letter in "abcd"
    ]
    for writer in writers:
        writer.stdout.readline()
    for writer in writers:
        writer.stdin.write(b"\n")
        writer.stdin.flush()
    for writer in writers:
        writer.communicate(timeout=PATIENCE)

    contents = content_of(folder / "2026")
    assert [writer.returncode for writer in writers] == [0] * 4
    assert sorted(contents) == sorted(f"{kind} {n}" for kind in ("kept", "replaced") for n in range(ROUNDS))
    assert {(len(content), len(set(content))) for content in contents.values()} == {(5000, 1)}


@pytest.mark.django_db(transaction=True)
def test_a_file_goes_where_its_rows_were_never_committed(folder):
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        keep_with_rows([(folder / "lost.pdf", b"x"), (folder / "named.pdf", b"x")])
        clear_lost_files(lambda path: False)
        assert (folder / "lost.pdf").exists()  # its transaction still runs
        raise ZeroDivisionError
    with transaction.atomic():
        keep_with_rows([(folder / "kept.pdf", b"x")])

    clear_drafts()
    clear_lost_files(lambda path: path.name == "named.pdf")

    assert content_of(folder) == {"named.pdf": b"x", "kept.pdf": b"x"}
