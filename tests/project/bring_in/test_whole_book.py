"""A whole book, as a folder of CSV files in one ZIP, through the browser."""

import io
import stat
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from practice.lib.profile import Profile
from practice.models import Client, Horse
from practice.project.bring_in import uploads, zips
from tests.hostile import content_of_book
from tests.project.bring_in.sheets_to_bring import zip_of

pytestmark = pytest.mark.usefixtures("practice")
PEOPLE = {
    "clients.csv": "ref,name\r\nann,Ann Lee\r\n",
    "horses.csv": "ref,name\r\nbramble,Bramble\r\n",
    "owners.csv": "horse,client,share\r\nbramble,ann,100\r\n",
}


def send(browser, content: bytes):
    return browser.post("/bring-in/book/", {"file": SimpleUploadedFile("book.zip", content)})


@pytest.mark.parametrize("around", ["", "book of 2026/", "./"])
def test_a_folder_comes_in_as_one_zip_and_goes_when_it_is_saved(
    browser, django_capture_on_commit_callbacks, around
):
    content = {f"{around}{name}": text for name, text in PEOPLE.items()}
    address = send(browser, zip_of(content | {"__MACOSX/x": "", f"{around}.added": ""})).headers["Location"]
    before, table = content_of_book(), browser.get(address).context["table"]
    modes = {oct(path.stat().st_mode & 0o777) for path in uploads.folder().rglob("*.csv")}
    unchanged = content_of_book() == before

    with django_capture_on_commit_callbacks(execute=True):
        answer = browser.post(f"{address}now/", follow=True)

    assert [(row.name, row.cells) for row in table.rows] == [(name, ("1", "0", "0")) for name in PEOPLE]
    assert (unchanged, modes) == (True, {"0o600"})
    assert str([*answer.context["messages"]][-1]) == "Brought in. 3 rows added or changed."
    assert Horse.objects.get().owners.get().client == Client.objects.get(ref="ann")
    assert list(uploads.folder().iterdir()) == []
    assert browser.post(f"{address}now/").headers["Location"] == "/bring-in/"


def test_what_is_wrong_with_a_folder_is_listed_and_nothing_comes_in(browser):
    content = PEOPLE | {"owners.csv": "horse,client,share\r\nbramble,bob,100\r\n", "notes.txt": "x"}
    address = send(browser, zip_of(content)).headers["Location"]
    before = content_of_book()

    page, answer = browser.get(address), browser.post(f"{address}now/", follow=True)

    assert page.context["errors"] == [
        'owners.csv:2: client: "bob" is not in clients.csv',
        "notes.txt: is not a file of the book",
    ]
    assert (
        str([*answer.context["messages"]][-1])
        == "Something changed since you looked. Nothing was brought in."
    )
    assert content_of_book() == before


@pytest.mark.parametrize(
    "path",
    [
        "../clients.csv",
        "/etc/clients.csv",
        "a/b/clients.csv",
        "files/../clients.csv",
        "files/a/b",
        "a\\clients.csv",
    ]
    + ["C:clients.csv", "files/" + "x" * 201],
)
def test_a_path_that_leads_elsewhere_is_refused(browser, tmp_path, path):
    answer = send(browser, zip_of(PEOPLE | {path: "ref,name\r\n"}))

    [error] = answer.context["form"].non_field_errors()
    assert error.startswith("This ZIP file has a file that does not belong there.")
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


def test_a_link_in_a_zip_is_refused(browser, tmp_path):
    link, out = zipfile.ZipInfo("clients.csv"), io.BytesIO()
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr(link, "/etc/passwd")

    [error] = send(browser, out.getvalue()).context["form"].non_field_errors()

    assert error.startswith("This ZIP file has a file that does not belong there.")


def cut_off() -> bytes:
    return zip_of(PEOPLE)[:-40]


def altered() -> bytes:
    content = bytearray(zip_of(PEOPLE))
    content[45] ^= 0xFF
    return bytes(content)


def locked() -> bytes:
    """A ZIP file whose parts say that they need a password (APPNOTE.TXT 4.4.4, bit 0)."""
    content = zip_of(PEOPLE)
    for signature, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        start = content.find(signature) + at
        content = content[:start] + b"\x01\x00" + content[start + 2 :]
    return content


@pytest.mark.parametrize(
    ("make", "reason"),
    [
        (lambda: b"no ZIP at all", "not a ZIP file, or it is damaged"),
        (cut_off, "not a ZIP file, or it is damaged"),
        (altered, "not a ZIP file, or it is damaged"),
        (locked, "has a password"),
        (lambda: zip_of({}), "This ZIP file is empty"),
        (
            lambda: zip_of({f"{number}.csv": "" for number in range(zips.MOST_FILES + 1)}),
            "is too large once unpacked",
        ),
    ],
    ids=["text", "cut off", "altered", "locked", "nothing", "many"],
)
def test_a_zip_that_is_no_folder_of_a_book_is_refused_with_what_to_do(browser, make, reason):
    answer = send(browser, make())

    [error] = answer.context["form"].non_field_errors()
    assert reason in error
    assert error.endswith("Put the CSV files, and nothing else, into one ZIP file and choose that.")
    assert not uploads.folder().exists() or list(uploads.folder().iterdir()) == []


def test_a_zip_that_unpacks_to_too_much_is_refused_before_it_is_unpacked(browser, monkeypatch):
    monkeypatch.setattr(zips, "LARGEST_UNPACKED", 1_000)

    answer = send(browser, zip_of({"clients.csv": bytes(1_001)}))

    assert "is too large once unpacked" in answer.context["form"].non_field_errors()[0]
    assert not uploads.folder().exists() or list(uploads.folder().iterdir()) == []


def test_no_book_comes_into_the_demo_practice(browser):
    Profile.objects.update(is_demo=True)

    answer = send(browser, zip_of(PEOPLE))

    assert answer.context["form"].non_field_errors()[0].startswith("This book is the demo practice")
