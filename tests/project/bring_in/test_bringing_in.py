"""A spreadsheet on its way into the book: file, columns, what is wrong, what it comes to, the press."""

import time
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from billing.models import Invoice, Payment
from practice.lib.profile import Profile
from practice.models import Client, Horse, MaterialUse, Owner, Place, Service, Visit
from practice.project.bring_in import uploads
from practice.project.bring_in.kinds import KINDS
from practice.project.bring_in.rows import FAULT
from practice.project.bring_in.views import GONE
from practice.reports.due import due_horses
from stock.models import Item
from tests.factories.practice import (
    DAY,
    ClientFactory,
    OwnerFactory,
    ProfileFactory,
    trim,
)
from tests.factories.stock import ItemFactory
from tests.hostile import content_of_book
from tests.project.bring_in.sheets_to_bring import (
    MESSY_HORSES,
    bring_in,
    check,
    comes_to,
    csv_of,
    upload,
    workbook_of,
    wrong,
)

D = Decimal


@pytest.fixture(autouse=True)
def practice(db, settings, tmp_path):
    """A practice of its own, whose uploads lie in a folder of their own."""
    settings.TODAY, settings.DATA_DIR = DAY, tmp_path
    return ProfileFactory()


def checked(browser, what: str, rows: list, **chosen: str) -> str:
    """Send rows as a CSV file and choose its columns as guessed; return the address of the check."""
    return check(browser, upload(browser, what, csv_of(rows), "barns.csv"), **chosen)


def test_ten_horses_come_in_from_a_messy_workbook_with_two_mistakes_mended_on_the_way(browser):
    address = check(
        browser, upload(browser, "horses", workbook_of(Horses=MESSY_HORSES, Notes=[["Call Ann"]]))
    )
    before = content_of_book()

    marked = wrong(browser, address)
    browser.post(address, {"cell_6_5": "9/3/2026", "cell_10_4": "6", "leave_14": "on"})
    words = comes_to(browser, address)
    unchanged = content_of_book() == before
    said = bring_in(browser, address)

    assert marked == {
        (7, "Last shod"): "Type a date such as Oct 14, 2026, or 2026-10-14.",
        (11, "Every"): "Type a whole number from 1 to 520.",
        (15, "Horse"): "This looks like a total of the rows above.",
    }
    assert unchanged
    assert words == [
        "10 new horses.",
        "4 new clients.",
        "3 new places.",
        "2 new kinds of work.",
        "The last work on 9 horses, so that each comes due on the right day.",
    ]
    assert said == f"Brought in. {' '.join(words)}"
    due = {(row.horse.name, str(row.horse.place)): row.due for row in due_horses()}
    assert (len(due), due["Sorrel", "Gatepost Yard"]) == (10, date(2026, 9, 3) + timedelta(weeks=6))
    assert (due["Moth", "Saltbox Farm"], due["Élan", "Lantern Barn"]) == (None, date(2026, 11, 5))
    assert Client.objects.get(name="Wren Halloway").phone == "0555-0131"
    assert sorted(Owner.objects.filter(horse__name="Pepper").values_list("client__name", "share")) == [
        ("Odell Marsh", D(50)),
        ("Wren Halloway", D(50)),
    ]
    assert {(visit.billed, visit.status) for visit in Visit.objects.all()} == {(True, "done")}


def test_a_file_goes_when_it_is_in_the_book_and_its_button_does_nothing_more(
    browser, django_capture_on_commit_callbacks
):
    address = checked(browser, "clients", [["Name", "Phone"], ["Ann Lee", "0417"]])
    with django_capture_on_commit_callbacks(execute=True):
        first = bring_in(browser, address)

    second = bring_in(browser, address)

    assert (first, second) == ("Brought in. 1 new client.", GONE)
    assert [(row.name, row.phone) for row in Client.objects.all()] == [("Ann Lee", "0417")]


def test_the_same_file_chosen_again_finds_all_of_it_in_the_book(browser):
    rows = [["Horse", "Owner", "Barn", "Last done"], ["Bramble", "Ann Lee", "Hill Barn", "10/1/2026"]]
    bring_in(browser, checked(browser, "horses", rows))
    before = content_of_book()

    again = browser.get(checked(browser, "horses", rows)).context["outlook"]

    assert (again.answer, again.changes) == ("All of it is in the book already.", False)
    assert content_of_book() == before


@pytest.mark.parametrize(
    ("known", "phone", "email"),
    [("fill", "1", "ann@lee.example"), ("replace", "2", "ann@lee.example"), ("keep", "1", "")],
)
def test_what_happens_to_a_name_in_the_book_is_chosen(browser, known, phone, email):
    ClientFactory(name="Ann  Lée", phone="1")
    rows = [["Name", "Phone", "Email"], ["ann lee", "2", "ann@lee.example"]]

    bring_in(browser, checked(browser, "clients", rows, known=known))

    assert list(Client.objects.values_list("name", "phone", "email")) == [("Ann  Lée", phone, email)]


@pytest.mark.parametrize(("answer", "owners"), [("second", 0), ("new", 1)])
def test_a_name_that_is_in_the_book_twice_is_asked_about(browser, answer, owners):
    ClientFactory(name="Ann Lee", phone="1")
    second = ClientFactory(name="Ann Lee", phone="2")
    address = checked(browser, "horses", [["Horse", "Owner"], ["Bramble", "Ann Lee"], ["Juno", "ann lee"]])
    [row, _] = browser.get(address).context["rows"]
    [cell] = row.cells

    key = second.key if answer == "second" else "new"
    browser.post(address, {cell.name: f"client ann lee|{key}"})
    bring_in(browser, address)

    assert (cell.message, [words for _, words in cell.choices]) == (
        "The book has 2 named Ann Lee. Which one is it?",
        ["Ann Lee, 1", "Ann Lee, 2", "Another one, not in the book yet"],
    )
    assert second.shares.count() == 2 - 2 * owners
    assert Client.objects.count() == 2 + owners


def test_a_horse_of_the_same_name_and_another_owner_is_another_horse(browser):
    known = OwnerFactory(horse__name="Bramble", client__name="Ann Lee")
    rows = [["Horse", "Owner", "Breed"], ["Bramble", "Ann Lee", "Cob"], ["Bramble", "Bob Ray", ""]]

    bring_in(browser, checked(browser, "horses", rows))

    assert sorted(Horse.objects.values_list("breed", "owners__client__name")) == [
        ("", "Bob Ray"),
        ("Cob", "Ann Lee"),
    ]
    assert known.horse.owners.count() == 1


def test_the_rules_of_the_book_mark_the_cells_they_are_about(browser, practice):
    Profile.objects.update(closed_through=date(2026, 9, 30))
    rows = [
        ["Horse", "Barn", "Last done", "Owner", "Breed"],
        ["Bramble", "Hill Barn", "9/30/2026", "Ann 60%; Bob 30%", ""],
        ["Juno", "Hill Barn", "10/15/2026", "", "x" * 101],
        ["Juno", "", "10/1/2026", "", ""],
        ["", "Hill Barn", "", "", ""],
        ["Moth", "", "10/1/2026", "", "a\x07b"],
    ]

    marked = wrong(browser, checked(browser, "horses", rows))

    assert marked == {
        (2, "Last done"): "2026-09-30 is closed for good (through 2026-09-30).",
        (2, "Owner"): "The shares of Bramble add up to 90, not 100.",
        (3, "Last done"): "This day is still ahead. Type today, 2026-10-14, or an earlier day.",
        (4, "Horse"): "This is in row 3 already. Leave one of them out, or give them different names.",
        (5, "Horse"): "This is blank. Type it, or leave this row out.",
        (6, "Last done"): "Type the horse's place, too. Past work needs one.",
        (6, "Breed"): "Contains the character U+0007; take it out.",
    }


def test_a_number_in_what_is_wrong_is_not_taken_for_the_ref_of_a_thing(browser):
    OwnerFactory(horse__name="Bramble", horse__ref="100", client__name="Ann Lee", client__ref="1")
    rows = [["Horse", "Owner", "Year born"], ["Bramble", "Ann Lee", "1700"], ["Juno", "Ann Lee 90%", ""]]

    marked = wrong(browser, checked(browser, "horses", rows))

    assert marked == {
        (2, "Year born"): '"1700" is not a whole number from 1900 to 2999.',
        (3, "Owner"): "The shares of Juno add up to 90, not 100.",
    }


def test_the_last_work_of_a_horse_in_the_book_is_added_only_where_it_is_later(browser):
    horses = [trim(on=date(2026, 8, day)).horse for day in (3, 20)]
    rows = [["Horse", "Last done"], *([horse.name, "8/10/2026"] for horse in horses)]

    bring_in(browser, checked(browser, "horses", rows))

    assert [max(horse.work.values_list("visit__date", flat=True)) for horse in horses] == [
        date(2026, 8, 10),
        date(2026, 8, 20),
    ]


def test_shoes_that_the_last_work_put_on_left_the_truck_and_others_stand_in_the_notes(browser):
    plain, hind = ItemFactory(name="Plain front 2"), ItemFactory(name="Plain hind 1", size="1", fits="hind")
    rows = [
        ["Horse", "Barn", "Last done", "Work", "Fronts", "Hinds"],
        ["Bramble", "Hill Barn", "10/1/2026", "full set", "plain front 2", "No. 1"],
        ["Juno", "Hill Barn", "10/1/2026", "Reset", "Plain front 2", ""],
        ["Moth", "Hill Barn", "", "", "0", "00"],
    ]
    address = checked(browser, "horses", rows)

    words = comes_to(browser, address)
    bring_in(browser, address)

    assert "4 shoes that they have worn since." in words
    assert list(MaterialUse.objects.values_list("horse__name", "item", "foot").order_by("foot")) == [
        ("Bramble", plain.pk, "LF"),
        ("Bramble", hind.pk, "LH"),
        ("Bramble", plain.pk, "RF"),
        ("Bramble", hind.pk, "RH"),
    ]
    assert dict(Horse.objects.values_list("name", "notes")) == {
        "Bramble": "",
        "Juno": "Wears Plain front 2 in front.",
        "Moth": "Wears 0 in front and 00 behind.",
    }
    assert list(Service.objects.order_by("name").values_list("name", "new_shoes", "feet_nailed")) == [
        ("Reset", 0, 4),
        ("full set", 4, 4),
    ]


def test_a_phone_beside_a_later_horse_of_an_owner_is_kept_too(browser):
    ClientFactory(name="Ann Lee", phone="")
    rows = [
        ["Horse", "Owner", "Phone", "Email"],
        ["Bramble", "Ann Lee", "", ""],
        ["Juno", "Bob Ray", "", "bob@ray.example"],
        ["Moth", "ann lee", "555-0131", ""],
        ["Sorrel", "Bob Ray", "555-0107", "other@ray.example"],
    ]

    bring_in(browser, checked(browser, "horses", rows))

    assert list(Client.objects.order_by("name").values_list("name", "phone", "email")) == [
        ("Ann Lee", "555-0131", ""),
        ("Bob Ray", "555-0107", "bob@ray.example"),
    ]


def test_what_a_spreadsheet_could_not_work_out_is_marked_where_it_would_come_in(browser):
    rows = [["Name", "Terms", "Memo", "Paid?"], ["#REF!", "#N/A", "#4 on the gate", "#DIV/0!"]]

    marked = wrong(browser, checked(browser, "clients", rows))

    assert marked == {(2, "Name"): FAULT, (2, "Terms"): FAULT}


def test_a_place_and_an_owner_that_stand_once_for_several_rows_are_taken_from_above(browser):
    rows = [
        ["Barn", "Horse", "Owner"],
        ["Hill Barn", "Bramble", "Ann Lee"],
        ["", "Juno", ""],
        ["Ford Yard", "Moth", "Bob Ray"],
        ["Total", "3", ""],
    ]
    address = checked(browser, "horses", rows, above="yes")

    marked = list(wrong(browser, address))
    browser.post(address, {"leave_4": "on"})
    bring_in(browser, address)

    assert marked == [(5, "Barn")]
    assert list(Horse.objects.order_by("pk").values_list("name", "place__name", "owners__client__name")) == [
        ("Bramble", "Hill Barn", "Ann Lee"),
        ("Juno", "Hill Barn", "Ann Lee"),
        ("Moth", "Ford Yard", "Bob Ray"),
    ]


def test_a_new_name_that_is_nearly_another_one_is_worth_a_second_look(browser):
    ClientFactory(name="Wren Halloway")
    rows = [
        ["Horse", "Owner", "Barn"],
        ["Juno", "Wren Haloway", "Hill Barn"],
        ["Moth", "Bob Ray", "Hil Barn"],
    ]

    warnings = browser.get(checked(browser, "horses", rows)).context["outlook"].warnings

    assert warnings == [
        "Wren Haloway is new. Do you mean Wren Halloway?",
        "Hil Barn is new. Do you mean Hill Barn?",
    ]


def test_of_many_things_to_look_at_the_first_are_named_and_the_rest_counted(browser):
    pairs = [one * 5 + two * 5 for one in "bcdfg" for two in "klmnpqrst"]  # 45, no two of them alike
    owners = [f"{name}{ending} Lee" for name in pairs for ending in ("", "a")]
    rows = [["Horse", "Owner"], *([f"Horse {number}", owner] for number, owner in enumerate(owners))]

    warnings = browser.get(checked(browser, "horses", rows)).context["outlook"].warnings

    assert (len(warnings), warnings[-1]) == (41, "5 more like these.")


def test_the_demo_practice_leads_to_a_book_of_ones_own(browser):
    Profile.objects.update(is_demo=True)

    page = browser.get("/bring-in/").content.decode()

    assert '<a href="/own-book/">Begin your own book</a>' in page


def test_places_come_in_with_what_is_known_of_them(browser):
    rows = [
        ["Barn", "Street", "City", "Lat", "Lon", "Tax area"],
        ["Hill Barn", "1 Hill", "Ford", "41.25", "-93.4", "Tarn"],
    ]

    bring_in(browser, checked(browser, "places", rows))

    place = Place.objects.get()
    assert (place.name, place.address, place.area) == ("Hill Barn", "1 Hill\nFord", "Tarn")
    assert (place.latitude, place.longitude) == (D("41.25"), D("-93.4"))


def test_items_come_in_with_their_counts_and_costs_each_size_by_its_own_name(browser):
    rows = [
        ["Item", "Size", "Type", "Qty", "Cost each", "Per box", "Vendor"],
        ["Plain front", "1", "Keg shoes", "24", "$4.35", "2", "Ford Supply"],
        ["Plain front", "2", "shoe", "1,012", "4.4", "2", "ford supply"],
        ["Race nail 5", "5", "", "250", "0.16", "250", ""],
    ]

    bring_in(browser, checked(browser, "items", rows, day="2026-10-12"))

    found = {item.name: item for item in Item.objects.select_related("shelf")}
    assert {name: (item.kind, item.shelf.on_hand, item.shelf.value) for name, item in found.items()} == {
        "Plain front 1": ("shoe", D(24), D("104.40")),
        "Plain front 2": ("shoe", D(1012), D("4452.80")),
        "Race nail 5": ("nail", D(250), D(40)),
    }
    assert {item.movements.get().date for item in found.values()} == {date(2026, 10, 12)}
    assert found["Plain front 1"].supplier == found["Plain front 2"].supplier


def test_open_invoices_come_in_with_what_was_paid_of_them(browser):
    ClientFactory(name="Ann Lee", payment_terms_days=30)
    rows = [
        ["Invoice no.", "Customer", "Date", "Total", "Tax", "Balance due"],
        ["A-7", "ann lee", "10/1/2026", "180.00", "10.00", "80"],
        ["A-8", "Bob Ray", "10/2/2026", "$64.20", "", ""],
        ["A-9", "Bob Ray", "10/3/2026", "50", "", "60"],
        ["A-10", "Bob Ray", "10/3/2026", "-50", "", ""],
        ["A-11", "Bob Ray", "10/3/2026", "50", "60", ""],
        ["A-12", "Bob Ray", "", "", "", ""],
    ]
    address = checked(browser, "invoices", rows)

    marked = wrong(browser, address)
    browser.post(address, {"cell_3_5": "50", "leave_4": "on", "leave_5": "on", "leave_6": "on"})
    said = bring_in(browser, address)

    assert marked == {
        (4, "Balance due"): "What is still open is at least 0 and at most the total.",
        (5, "Total"): "This is below 0. What you owe a client is brought in as credit.",
        (6, "Tax"): "The tax is at least 0 and at most the total.",
        (7, "Date"): "This is blank. Type it, or leave this row out.",
        (7, "Total"): "This is blank. Type it, or leave this row out.",
    }
    assert said == "Brought in. 3 open invoices: $194.20. 2 clients: 1 new, 1 already in the book."
    invoices = {row.number: row for row in Invoice.objects.with_settled()}
    assert {number: (row.net, row.total - row.settled, row.due) for number, row in invoices.items()} == {
        "A-7": (D(170), D(80), date(2026, 10, 31)),
        "A-8": (D("64.20"), D("64.20"), date(2026, 10, 16)),
        "A-9": (D(50), D(50), date(2026, 10, 17)),
    }
    assert list(Payment.objects.values_list("date", "amount", "invoice__number")) == [
        (date(2026, 10, 1), D(100), "A-7")
    ]


def test_credit_comes_in_once_and_a_debt_is_told_to_be_an_invoice(browser):
    rows = [["Customer", "Balance"], ["Ann Lee", "120.00"], ["Bob Ray", "(5.00)"], ["Cy Poe", "0"]]
    address = checked(browser, "credit", rows, day="2026-10-02")

    marked = wrong(browser, address)
    browser.post(address, {"leave_2": "on"})
    bring_in(browser, address)
    bring_in(browser, checked(browser, "credit", rows[:2], day="2026-10-02"))

    assert marked == {
        (3, "Balance"): "This is below 0. What a client owes you is brought in as an open invoice."
    }
    assert list(Payment.objects.values_list("client__name", "date", "amount")) == [
        ("Ann Lee", date(2026, 10, 2), D(120))
    ]


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
