"""A verified copy of book and documents, and back."""

import json
import zipfile
from pathlib import Path

import pytest

from tests.processes import run_command

pytestmark = pytest.mark.slow
PRACTICE = "name,locale,currency,distance_unit\r\n{name},en-US,USD,mi\r\n"


@pytest.fixture
def book(empty_book, tmp_path):
    """A book with a practice, its logo and a receipt, and how to write, change and read it."""
    variables, data = empty_book, Path(empty_book["ROUNDBOOK_DATA"])
    folder = tmp_path / "in"
    folder.mkdir()

    def write(name: str) -> None:
        (folder / "practice.csv").write_text(PRACTICE.format(name=name))
        ended = run_command("import_book", folder, **variables)
        assert ended.returncode == 0, ended.stderr

    def read(number=[0]) -> str:  # noqa: B006
        number[0] += 1
        out = tmp_path / f"out-{number[0]}"
        assert run_command("export_book", out, **variables).returncode == 0
        return (out / "practice.csv").read_text().splitlines()[1].split(",")[0]

    write("Garrow Farriery")
    (data / "receipts").mkdir()
    (data / "receipts" / "a.pdf").write_bytes(b"%PDF-1.4 fuel")
    return variables, data, write, read


def test_a_copy_comes_back_with_its_documents_and_the_other_book_is_kept(book, tmp_path):
    variables, data, write, read = book
    copy = tmp_path / "copies" / "monday.zip"
    made = run_command("backup", copy, **variables)
    write("Another Name")
    (data / "receipts" / "a.pdf").unlink()
    (data / "receipts" / "b.pdf").write_bytes(b"%PDF-1.4 later")
    (data / "sent-forms" / "saved.djcache").write_bytes(b"a form that was saved after the copy")

    refused = run_command("restore", copy, **variables)
    still = read()
    done = run_command("restore", copy, "--replace", **variables)

    assert (made.returncode, made.stderr) == (0, "")
    assert made.stdout == f"Saved the book and 1 document to {copy}. The copy is verified.\n"
    assert (refused.returncode, still) == (2, "Another Name")
    assert refused.stderr.startswith("There is already a book here. Add --replace")
    assert done.returncode == 0, done.stderr
    assert read() == "Garrow Farriery"
    assert [path.name for path in (data / "receipts").iterdir()] == ["a.pdf"]
    assert list((data / "sent-forms").iterdir()) == []
    [kept] = (data / "backups").iterdir()
    run_command("restore", kept, "--replace", **variables)
    assert read() == "Another Name"
    assert (data / "receipts" / "b.pdf").read_bytes() == b"%PDF-1.4 later"


def test_a_copy_comes_back_on_another_machine(book, tmp_path, django_db_blocker):
    from tests.conftest import book_of_its_own

    variables, _, _, _ = book
    copy = tmp_path / "monday.zip"
    run_command("backup", copy, **variables)

    (tmp_path / "other").mkdir()
    with book_of_its_own(tmp_path / "other", django_db_blocker) as other:
        ended = run_command("restore", copy, **other)
        out = tmp_path / "there"
        run_command("export_book", out, **other)

        assert (ended.returncode, ended.stdout) == (0, f"Restored the book from {copy}.\n")
        assert (out / "practice.csv").read_text().splitlines()[1].startswith("Garrow Farriery")
        key = Path(other["ROUNDBOOK_DATA"], "secret_key").read_bytes()
        assert key != Path(variables["ROUNDBOOK_DATA"], "secret_key").read_bytes()


def test_a_copy_never_takes_the_place_of_a_file(book, tmp_path):
    variables, _, _, _ = book
    there = tmp_path / "there.zip"
    there.write_text("mine")

    ended = run_command("backup", there, **variables)

    assert (ended.returncode, there.read_text()) == (2, "mine")


def damaged(copy: Path, how: str) -> Path:
    """A copy of which something is wrong."""
    bad = copy.with_name(f"{how}.zip")
    with zipfile.ZipFile(copy) as good, zipfile.ZipFile(bad, "w") as packed:
        for name in good.namelist():
            content = good.read(name)
            if name == "contents.json" and how == "a file outside":
                contents = json.loads(content)
                contents["files"]["../outside"] = contents["files"].pop("receipts/a.pdf")
                content = json.dumps(contents).encode()
            if name == "receipts/a.pdf":
                content = content + b"x" if how == "a changed file" else content
                name = "../outside" if how == "a file outside" else name
            if not (how == "a missing file" and name == "receipts/a.pdf"):
                packed.writestr(name, content)
    if how == "a cut-off end":
        bad.write_bytes(copy.read_bytes()[:-400])
    return bad


def test_a_copy_that_is_not_whole_changes_nothing(book, tmp_path):
    variables, _, _, read = book
    copy = tmp_path / "copy.zip"
    run_command("backup", copy, **variables)
    hows = ("a changed file", "a missing file", "a file outside", "a cut-off end")

    ended = {
        how: run_command("restore", damaged(copy, how), "--replace", **variables).returncode for how in hows
    }
    missing = run_command("restore", tmp_path / "none.zip", "--replace", **variables)

    assert ended == dict.fromkeys(hows, 2)
    assert (missing.returncode, missing.stderr) == (
        2,
        f"{tmp_path / 'none.zip'} does not exist. Check the name.\n",
    )
    assert read() == "Garrow Farriery"
    assert not (tmp_path / "outside").exists()
