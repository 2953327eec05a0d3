"""A verified copy of book and documents, and back: all of it or nothing, and no way in with it."""

import hashlib
import io
import json
import sqlite3
import stat
import zipfile
from contextlib import closing
from pathlib import Path

import pytest

from practice.project.backup.contents import EMPTIED, LIST, SQLITE
from tests.conftest import book_of_its_own
from tests.folders import content_of
from tests.prepared import PreparedBook, prepared

pytestmark = [pytest.mark.slow, pytest.mark.django_db]
PRACTICE = "name,locale,currency,distance_unit\r\n{name},en-US,USD,mi\r\n"


@pytest.fixture(scope="module")
def filled(prepared_book, tmp_path_factory):
    """A book with a practice and a receipt."""
    rename(prepared_book, "Garrow Farriery", tmp_path_factory.mktemp("filled"))
    (prepared_book.data / "receipts").mkdir(mode=0o700)
    (prepared_book.data / "receipts" / "a.pdf").write_bytes(b"%PDF-1.4 fuel")
    prepared_book.keep()
    return prepared_book


@pytest.fixture
def book(filled):
    """The same, as it was."""
    filled.put_back()
    return filled


def rename(book: PreparedBook, name: str, folder: Path) -> None:
    (folder / "in").mkdir()
    (folder / "in" / "practice.csv").write_text(PRACTICE.format(name=name))
    ended = book.run("import_book", folder / "in")
    assert ended.returncode == 0, ended.stderr


def name_of(book: PreparedBook) -> str:
    return book.sql("SELECT name FROM practice_profile")[0][0]


def made_copy(book: PreparedBook, path: Path) -> Path:
    ended = book.run("backup", path)
    assert ended.returncode == 0, ended.stderr
    return path


def receipts(book: PreparedBook) -> dict[str, bytes]:
    return content_of(book.data / "receipts")


def test_a_copy_comes_back_with_its_documents_and_the_other_book_is_kept(book, tmp_path):
    copy = tmp_path / "copies" / "monday.zip"
    made = book.run("backup", copy)
    rename(book, "Another Name", tmp_path)
    (book.data / "receipts" / "a.pdf").unlink()
    (book.data / "receipts" / "b.pdf").write_bytes(b"%PDF-1.4 later")
    (book.data / "logo.png").write_bytes(b"later")

    refused = book.run("restore", copy)
    still = name_of(book)
    done = book.run("restore", copy, "--replace")

    assert (made.returncode, made.stderr) == (0, "")
    assert made.stdout == f"Saved the book and 1 document to {copy}. The copy is verified.\n"
    assert (refused.returncode, still) == (2, "Another Name")
    assert refused.stderr.startswith("There is already a book here. Add --replace")
    assert done.returncode == 0, done.stderr
    assert name_of(book) == "Garrow Farriery"
    assert receipts(book) == {"a.pdf": b"%PDF-1.4 fuel"}
    assert not (book.data / "logo.png").exists()
    [kept] = (book.data / "backups").iterdir()
    book.run("restore", kept, "--replace")
    assert name_of(book) == "Another Name"
    assert receipts(book) == {"b.pdf": b"%PDF-1.4 later"}


def test_a_copy_comes_back_on_another_machine(book, tmp_path, django_db_blocker):
    copy = made_copy(book, tmp_path / "monday.zip")

    (tmp_path / "other").mkdir()
    with book_of_its_own(tmp_path / "other", django_db_blocker) as variables, prepared(variables) as other:
        ended = other.run("restore", copy)

        assert (ended.returncode, ended.stdout) == (0, f"Restored the book from {copy}.\n")
        assert name_of(other) == "Garrow Farriery"
        assert (other.data / "secret_key").read_bytes() != (book.data / "secret_key").read_bytes()


def test_a_copy_never_takes_the_place_of_a_file(book, tmp_path):
    there = tmp_path / "there.zip"
    there.write_text("mine")

    ended = book.run("backup", there)

    assert (ended.returncode, there.read_text()) == (2, "mine")


def test_only_its_owner_can_read_a_copy_and_what_comes_back_from_it(book, tmp_path):
    copy = made_copy(book, tmp_path / "copy.zip")
    (book.data / "receipts" / "a.pdf").chmod(0o644)

    book.run("restore", copy, "--replace")

    [kept] = (book.data / "backups").iterdir()
    modes = [stat.S_IMODE(path.stat().st_mode) for path in (copy, kept, book.data / "receipts" / "a.pdf")]
    assert modes == [0o600] * 3


SESSION = "INSERT INTO django_session VALUES ('k3yofasession', 'whose', '2030-01-01 00:00:00+00')"
LOCKED_OUT = (
    "INSERT INTO axes_accessattempt (user_agent, ip_address, username, http_accept, path_info, attempt_time,"
    " get_data, post_data, failures_since_start)"
    " VALUES ('', '192.0.2.7', 'l0ckedout', '', '/', '2026-01-01 00:00:00+00', '', '', 5)"
)


LOGIN = (
    "INSERT INTO auth_user (id, username, password, first_name, last_name, email, is_superuser, is_staff,"
    " is_active, date_joined)"
    " VALUES (77, 'ann', '', '', '', '', FALSE, FALSE, TRUE, '2026-01-01 00:00:00+00')"
)
CODE = "INSERT INTO practice_pairingcode VALUES (77, 's33dofacode', '2030-01-01 00:00:00+00', 0)"


def test_a_copy_holds_no_way_in(book, tmp_path):
    for sql in (SESSION, LOCKED_OUT, LOGIN, CODE):
        book.sql(sql)

    copy = made_copy(book, tmp_path / "copy.zip")

    with zipfile.ZipFile(copy) as packed:
        content = b"".join(packed.read(name) for name in packed.namelist())
    assert [word for word in (b"k3yofasession", b"l0ckedout", b"s33dofacode") if word in content] == []
    assert book.sql("SELECT COUNT(*) FROM django_session") == [(1,)]
    if not book.url:  # PostgreSQL's dump is compressed: look at what it brings back
        return
    book.sql("DELETE FROM django_session")
    assert book.run("restore", copy, "--replace").returncode == 0
    for table in ("axes_accessattempt", "practice_pairingcode"):
        assert book.sql(f"SELECT COUNT(*) FROM {table}") == [(0,)]


def test_every_table_of_sessions_and_lock_outs_is_emptied():
    from django.apps import apps

    ways_in = {
        model._meta.db_table
        for label in ("axes", "sessions")
        for model in apps.get_app_config(label).get_models()
    }

    assert ways_in - set(EMPTIED) == set()


def test_a_restore_ends_all_sessions(book, tmp_path):
    copy = made_copy(book, tmp_path / "copy.zip")
    book.sql(SESSION)

    ended = book.run("restore", copy, "--replace")

    assert ended.returncode == 0, ended.stderr
    assert book.sql("SELECT COUNT(*) FROM django_session") == [(0,)]


def test_a_copy_made_by_a_newer_version_is_refused(book, tmp_path):
    book.sql(
        "INSERT INTO django_migrations (app, name, applied) VALUES ('stock', '9001_hooves', '2030-01-01')"
    )
    copy = made_copy(book, tmp_path / "copy.zip")
    book.put_back()

    ended = book.run("restore", copy, "--replace")

    assert (ended.returncode, ended.stderr) == (
        2,
        "This backup was made by a newer version of Roundbook (it has stock.9001_hooves)."
        " Update Roundbook, then restore it.\n",
    )


def repacked(copy: Path, change) -> Path:
    """A copy in which `change` altered the files by name, with a list that fits."""
    with zipfile.ZipFile(copy) as packed:
        files = {name: packed.read(name) for name in packed.namelist() if name != LIST}
        contents = json.loads(packed.read(LIST))
    change(files, contents)
    contents["files"] = {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
    bad = copy.with_name("bad.zip")
    with zipfile.ZipFile(bad, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in files.items():
            packed.writestr(name, content)
        packed.writestr(LIST, json.dumps(contents))
    return bad


def a_rubbish_database(files, contents):
    files[contents["database"]] = b"this was a shopping list " * 100


def another_programs_database(files, contents):
    if contents["database"] != SQLITE:
        a_rubbish_database(files, contents)
        return
    with closing(sqlite3.connect(":memory:")) as other:
        other.execute("CREATE TABLE django_migrations (app, name)")
        other.execute("CREATE TABLE practice_profile (name)")
        files[SQLITE] = other.serialize()


def a_name_of_300_letters(files, contents):
    files["receipts/" + "x" * 300] = b"x"


def a_file_outside(files, contents):
    files["receipts/../../outside"] = b"x"


def a_file_at_the_root(files, contents):
    files["/outside"] = b"x"


def a_key_of_another_machine(files, contents):
    files["secret_key"] = b"x"


def a_file_that_is_a_folder_too(files, contents):
    files["receipts/a.pdf/b.pdf"] = b"x"


def a_hidden_file(files, contents):
    files["receipts/.a.pdf.0123abcd.draft"] = b"x"


def a_file_that_fills_the_disk(files, contents):
    files["receipts/zeros.pdf"] = bytes(150_000_000)


HOSTILE = {
    a_rubbish_database: "",
    another_programs_database: "",
    a_name_of_300_letters: "does not belong in it",
    a_file_outside: "does not belong in it",
    a_file_at_the_root: "does not belong in it",
    a_key_of_another_machine: "does not belong in it",
    a_file_that_is_a_folder_too: "does not belong in it",
    a_hidden_file: "does not belong in it",
    a_file_that_fills_the_disk: "it would unpack to more than 200 times its size",
}


@pytest.mark.parametrize("change", HOSTILE, ids=lambda change: change.__name__)
def test_a_copy_that_means_harm_is_refused_with_the_reason(book, tmp_path, change):
    bad = repacked(made_copy(book, tmp_path / "copy.zip"), change)
    before = book.state()

    ended = book.run("restore", bad, "--replace")

    assert (ended.returncode, ended.stdout) == (2, "")
    assert ended.stderr.startswith(f"{bad} is not an intact backup: ")
    assert HOSTILE[change] in ended.stderr
    assert (ended.stderr.count("\n"), book.state()) == (1, before)


def with_flag(content: bytes) -> bytes:
    """Mark the first entry as encrypted, in its own header and in the directory."""
    return changed_header(content, local=6, central=8, value=1)


def with_method(content: bytes) -> bytes:
    """Say that the first entry is packed by a method that nobody has."""
    return changed_header(content, local=8, central=10, value=77)


def changed_header(content: bytes, local: int, central: int, value: int) -> bytes:
    """Change a field of the first entry. Offsets: PKWARE's APPNOTE.TXT 4.3.7 and 4.3.12."""
    at = content.index(b"PK\x01\x02")
    changed = bytearray(content)
    changed[local : local + 2] = changed[at + central : at + central + 2] = value.to_bytes(2, "little")
    return bytes(changed)


def with_a_link(content: bytes) -> bytes:
    """Say that the first entry is a symbolic link (APPNOTE.TXT 4.4.15, and the Unix modes in it)."""
    at = content.index(b"PK\x01\x02") + 38
    return content[:at] + ((stat.S_IFLNK | 0o777) << 16).to_bytes(4, "little") + content[at + 4 :]


def with_broken_data(content: bytes) -> bytes:
    """Break the packed bytes of the first entry right behind its name."""
    begin = 30 + int.from_bytes(content[26:28], "little") + int.from_bytes(content[28:30], "little")
    return content[:begin] + b"\xff" * 40 + content[begin + 40 :]


def with_a_deep_list(content: bytes) -> bytes:
    return zip_of(b"[" * 100_000)


def with_a_list_of_numbers(content: bytes) -> bytes:
    return zip_of(b'{"version": 1, "made_at": 2, "database": 3, "files": {"a": 4}}')


def with_no_list(content: bytes) -> bytes:
    return zip_of(b"[]")


def zip_of(list_of_files: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr(LIST, list_of_files)
    return out.getvalue()


def cut_off(content: bytes) -> bytes:
    return content[:-400]


def nothing(content: bytes) -> bytes:
    return b""


DAMAGED = {
    with_flag: "is encrypted",
    with_method: "is packed in a way that backup does not use",
    with_a_link: "is not a plain file",
    with_broken_data: "",
    with_a_deep_list: "",
    with_a_list_of_numbers: "its list of files cannot be read",
    with_no_list: "",
    cut_off: "File is not a zip file",
    nothing: "File is not a zip file",
}


@pytest.mark.parametrize("change", DAMAGED, ids=lambda change: change.__name__)
def test_a_copy_that_is_damaged_is_refused_with_the_reason(book, tmp_path, change):
    bad = tmp_path / "bad.zip"
    bad.write_bytes(change(made_copy(book, tmp_path / "copy.zip").read_bytes()))
    before = book.state()

    ended = book.run("restore", bad, "--replace")

    assert (ended.returncode, ended.stdout) == (2, "")
    assert ended.stderr.startswith(f"{bad} is not an intact backup: ")
    assert DAMAGED[change] in ended.stderr
    assert (ended.stderr.count("\n"), book.state()) == (1, before)


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("none.zip", "{path} does not exist. Check the name."),
        (".", "{path} is not a file. Name a file that backup made."),
        ("x" * 300, "{path} cannot be used: File name too long. Choose another name."),
    ],
)
def test_a_copy_that_is_not_there_is_bad_input(book, tmp_path, name, message):
    path = tmp_path / name

    ended = book.run("restore", path, "--replace")

    assert (ended.returncode, ended.stderr) == (2, message.format(path=path) + "\n")


def test_mail_that_waited_in_a_copy_is_not_sent_by_itself(book, tmp_path):
    for number, state in enumerate(("waiting", "sending", "sent", "refused")):
        book.sql(
            'INSERT INTO billing_message (uuid, ref, kind, about, to_name, "to", subject, text, message_id,'
            " state, queued_at, tries, handed_over) VALUES"
            f" ('{number:032}', '', 'invoice', 'GF-1', '', 'ann@barn.example', 'Bill', 'Pay', '<{number}@x>',"
            f" '{state}', '2026-10-14 12:00:00+00:00', 0, FALSE)"
        )
    copy = made_copy(book, tmp_path / "copy.zip")

    ended = book.run("restore", copy, "--replace")

    states = [state for (state,) in book.sql("SELECT state FROM billing_message ORDER BY message_id")]
    assert (ended.returncode, states) == (0, ["doubtful", "doubtful", "sent", "refused"])
    assert book.sql("SELECT what, COUNT(*) FROM billing_messageattempt GROUP BY what") == [("doubtful", 2)]
