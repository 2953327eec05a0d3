"""A spreadsheet on its way into the book: file, columns, what is wrong, what it comes to, the press."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from practice.lib.profile import Profile
from practice.models import Client, Horse, MaterialUse, Owner, Service, Visit
from practice.project.bring_in.rows import FAULT
from practice.project.bring_in.views import GONE
from practice.reports.due import due_horses
from tests.factories.practice import (
    ClientFactory,
    OwnerFactory,
    trim,
)
from tests.factories.stock import ItemFactory
from tests.hostile import content_of_book
from tests.project.bring_in.sheets_to_bring import (
    MESSY_HORSES,
    bring_in,
    check,
    checked,
    comes_to,
    upload,
    workbook_of,
    wrong,
)

pytestmark = pytest.mark.usefixtures("practice")
D = Decimal


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
