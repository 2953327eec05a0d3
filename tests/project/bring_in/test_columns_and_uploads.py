"""The columns of a spreadsheet and what they mean, and how long a file is kept."""

import time
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from practice.lib.profile import Profile
from practice.project.bring_in import uploads
from practice.project.bring_in.kinds import KINDS
from tests.project.bring_in.sheets_to_bring import (
    check,
    checked,
    comes_to,
    csv_of,
    upload,
    workbook_of,
    wrong,
)

pytestmark = pytest.mark.usefixtures("practice")
D = Decimal


def test_what_columns_mean_is_remembered_for_the_next_file_with_these_headings(browser):
    rows = [["Who", "Ring", "Kept at"], ["Ann Lee", "0417", "Ford"]]
    first = upload(browser, "clients", csv_of(rows), "a.csv")
    guessed = browser.get(first).context["form"]["column_0"].initial
    check(browser, first, column_0="name", column_1="phone", column_2="")

    form = browser.get(upload(browser, "clients", csv_of(rows, ";"), "b.csv")).context["form"]

    assert (guessed, [form[f"column_{n}"].initial for n in range(3)]) == ("", ["name", "phone", ""])


def test_columns_have_to_name_what_is_needed_once(browser):
    address = upload(browser, "invoices", csv_of([["No", "A", "B"], ["1", "2", "3"]]), "a.csv")

    sent = {"column_0": "number", "column_1": "total", "column_2": "total", "heading_row": "1"}
    errors = browser.post(address, sent).context["form"].errors

    assert errors == {
        "column_2": ["A is set to this already. Choose only one of them."],
        "__all__": [
            "Choose the column for Client.",
            "Choose the column for Dated.",
        ],
    }


def test_headings_in_another_row_and_another_sheet_are_chosen(browser):
    book = workbook_of(
        Old=[["Name"], ["Ann"]], New=[["Clients we know"], ["Name", "Phone"], ["Bob", 5550107]]
    )
    address = upload(browser, "clients", book)
    at_first = browser.get(address).context["upload"].sheet.name

    browser.post(f"{address}sheet/", {"sheet": "0"})
    other = [field.label for field in browser.get(address).context["form"].column_fields]
    browser.post(f"{address}sheet/", {"sheet": "1"})
    moved = browser.post(address, {"heading_row": "3", "known": "fill"})

    assert (at_first, other, moved.headers["Location"]) == ("New", ["Name"], address)
    assert [field.label for field in browser.get(address).context["form"].column_fields] == ["Bob", "5550107"]


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_a_template_is_read_and_its_examples_are_not_brought_in(browser, kind):
    template = browser.get(f"/bring-in/{kind.code}/template/").content
    address = check(browser, upload(browser, kind.code, template))

    marked = wrong(browser, address)
    browser.post(address, {f"leave_{number}": "on" for number in (1, 2, 3)})

    assert set(marked.values()) == {"This is an example from the template."}
    assert browser.get(address).context["outlook"].changes is False


def test_rows_left_out_are_put_back_and_a_file_is_thrown_away(browser, django_capture_on_commit_callbacks):
    address = checked(browser, "clients", [["Name"], ["Total"], ["Ann"]])
    browser.post(address, {"leave_1": "on"})
    left_out = comes_to(browser, address)

    browser.post(address.replace("/check/", "/put-back/"))
    marked = wrong(browser, address)
    with django_capture_on_commit_callbacks(execute=True):
        browser.post(address.replace("/check/", "/discard/"))

    assert (left_out, list(marked)) == (["1 new client."], [(2, "Name")])
    assert browser.get(address).headers["Location"] == "/bring-in/"


def test_an_upload_is_for_its_owner_alone_and_goes_after_a_day(browser, monkeypatch):
    checked(browser, "clients", [["Name"], ["Ann"]])
    paths = {path.name == uploads.REMEMBERED: path for path in uploads.folder().iterdir()}
    modes = {oct(path.stat().st_mode & 0o777) for path in paths.values()}
    later = time.time() + uploads.KEPT_SECONDS + 1
    monkeypatch.setattr(uploads.time, "time", lambda: later)

    uploads.clear_old_uploads()

    assert modes == {"0o600"}
    assert list(uploads.folder().iterdir()) == [paths[True]]


def test_nothing_is_brought_into_the_demo_practice(browser):
    Profile.objects.update(is_demo=True)

    answer = browser.post("/bring-in/clients/", {"file": SimpleUploadedFile("a.csv", b"Name\nAnn\n")})

    assert answer.context["form"].non_field_errors() == [
        "This book is the demo practice. Begin your own book first, so that the two do not mix."
    ]


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"\xd0\xcf\x11\xe0" + bytes(600), "an old kind of spreadsheet"),
        (b"PK\x03\x04 and no more", "damaged"),
        (b"%PDF-1.7\n" + bytes(600), "neither an XLSX file nor a CSV file"),
        (b"\n , ,\n", "nothing in this file"),
        (b"a,b\n" * 5001, "up to 5,000 rows"),
        (b"a," * 60 + b"b\n", "up to 60 columns"),
        (b"Name\n" + b"x" * 5001, "row 2 has more than 5,000 characters"),
    ],
    ids=["old", "cut off", "pdf", "blank", "rows", "columns", "cell"],
)
def test_what_is_no_spreadsheet_or_too_large_is_refused_with_what_to_do(browser, content, reason):
    answer = browser.post("/bring-in/clients/", {"file": SimpleUploadedFile("a", content)})

    [error] = answer.context["form"].non_field_errors()
    assert reason in error
    assert not uploads.folder().exists() or not list(uploads.folder().glob("*.json"))
