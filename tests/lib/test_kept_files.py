"""Files written whole or not at all, also on a full disk and by processes that are killed."""

import os
import signal

import pytest

from practice.lib.kept_files import clear_drafts, draft_of, keep_file, replace_file
from practice.lib.logo import keep_logo
from tests.folders import content_of
from tests.full_disk import no_file_larger_than
from tests.pictures import photo


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

    assert content_of(folder) == {"receipts/a.pdf": b"mine"}
