"""What is possible but odd in a folder: an import warns with file, line and column, and takes it."""

import json
from datetime import date

import pytest

from practice.models import Horse
from practice.project.book.importer import import_book
from tests.processes import run_command
from tests.project.test_book_errors import BASE, put

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 26)
READINGS = "date,vehicle,at,reading\n"
ORDER = {
    "orders_csv": "ref,date\no1,2026-10-01\n",
    "order_lines_csv": "order,item,packs,pack_size\no1,shoe,2,10\n",
    "purchases_csv": "date,item,quantity,unit_cost,order\n",
}
CASES = {
    "a payment ahead": (
        {"payments_csv": "+p2,2026-11-27,ann,5,cash\n"},
        ["payments.csv:3: date: 2026-11-27 is after today, 2026-11-26"],
    ),
    "a done visit ahead, and a planned one that is not": (
        {"visits_csv": "+v3,2026-11-27,barn,done\nv4,2026-11-27,barn,planned\n"},
        ["visits.csv:4: date: 2026-11-27 is after today, 2026-11-26"],
    ),
    "a plan too far ahead": (
        {"visits_csv": "+v3,2028-11-27,barn,planned\n"},
        ["visits.csv:4: date: 2028-11-27 is more than two years ahead"],
    ),
    "a birth, a cycle, and a name": (
        {"horses_csv": "ref,name,born,cycle_weeks\njuniper,Juniper,1969,60\nsecond,juniper,2027,6\n"},
        [
            "horses.csv:2: cycle_weeks: 60 weeks is more than a year",
            "horses.csv:2: born: 1969 is not a year from 1970 to 2026",
            'horses.csv:3: name: another horse is named "juniper" too',
            "horses.csv:3: born: 2027 is not a year from 1970 to 2026",
        ],
    ),
    "half a shoe, and a quarter of a trim": (
        {
            "materials_csv": "+v1,juniper,shoe,0.5\n",
            "work_csv": "visit,horse,service,quantity\nv1,juniper,trim,0.25\n",
        },
        [
            "work.csv:2: quantity: 0.25 is not a multiple of 0.5",
            "materials.csv:3: quantity: 0.5 is not whole, but shoe is counted singly",
        ],
    ),
    "a payment far above what was owed then": (
        {
            "payments_csv": "ref,date,client,amount,method\np1,2026-10-20,ann,1200,cash\n"
            "p2,2026-10-21,ann,900,cash\n"
        },
        ["payments.csv:2: amount: 1200 is 40 times what was owed, 30"],
    ),
    "a charge ahead, and one far above the usual": (
        {
            "charges_csv": "ref,date,client,name,unit_price\nc1,2026-11-27,ann,No-show,25\n"
            "c2,2026-10-14,ann,No-show,20\nc3,2026-10-14,ben,No-show,2500\n"
        },
        [
            "charges.csv:2: date: 2026-11-27 is after today, 2026-11-26",
            "charges.csv:4: unit_price: 2500 is 100 times the usual",
        ],
    ),
    "a delivery and a cost far above the usual": (
        {"purchases_csv": "+2026-10-02,shoe,12,3.50\n2026-10-03,shoe,130,340\n"},
        [
            "purchases.csv:4: quantity: 130 is 10 times the usual",
            "purchases.csv:4: unit_cost: 340 is 97 times the usual",
        ],
    ),
    "more than was ordered": (
        ORDER
        | {"purchases_csv": ORDER["purchases_csv"] + "2026-10-02,shoe,15,3,o1\n2026-10-03,shoe,8,3,o1\n"},
        ["purchases.csv:3: quantity: that is 3 more than was still to come of the order"],
    ),
    "what came twice and was taken back": (
        ORDER
        | {
            "purchases_csv": ORDER["purchases_csv"] + "2026-10-02,shoe,20,3,o1\n2026-10-03,shoe,20,3,o1\n",
            "stock_facts_csv": "date,item,kind,quantity,reverses\n2026-10-03,shoe,reversal,20,receipt\n",
        },
        [],
    ),
    "a price far above the usual": (
        {"prices_csv": "+trim,,2026-06-01,5500\n"},
        ["prices.csv:3: price: 5500 is 110 times the usual"],
    ),
    "a price of a service in tenths of a cent": (
        {"prices_csv": "+trim,,2026-06-01,50.005\n"},
        ["prices.csv:3: price: 50.005 has more decimals than USD"],
    ),
    "mail addresses": (
        {"clients_csv": "ref,name,email\nann,Ann,ann@\nben,Ben,ben@example.com\n"},
        ['clients.csv:2: email: "ann@" is not an email address'],
    ),
    "an expense far above the usual of its category in a year": (
        {
            "expenses_csv": "ref,date,category,amount\ne0,2025-01-01,supplies,300\n"
            + "".join(f"e{number},2026-0{number}-01,supplies,20\n" for number in range(1, 6))
            + "e6,2026-06-01,supplies,201\ne7,2026-06-02,office,900\n"
        },
        ["expenses.csv:8: amount: 201 is 10 times the usual for supplies"],
    ),
    "a price typed at a visit far above the list": (
        {"work_csv": "visit,horse,service,price\nv1,juniper,trim,500\nv2,juniper,trim,501\n"},
        ["work.csv:3: price: 501 is 10 times the usual"],
    ),
    "what one horse took far above the usual": (
        {"materials_csv": "+v2,juniper,shoe,12\nv2,juniper,shoe,10\n"},
        ["materials.csv:3: quantity: 22 on one horse is 11 times the usual"],
    ),
    "an odometer far on, and a drive": (
        {
            "readings_csv": READINGS + "2026-10-15,truck,start,110\n2026-10-16,truck,start,1110.1\n",
            "legs_csv": "+2026-10-17,truck,,,1000.1,business\n",
        },
        [
            "readings.csv:3: reading: 1110.1 is 1000.1 mi on since the last reading, 110",
            "legs.csv:3: distance: 1000.1 is a drive of more than 1000 mi",
        ],
    ),
}


@pytest.mark.parametrize(("files", "warnings"), CASES.values(), ids=CASES)
def test_what_is_odd_is_warned_about_and_taken(tmp_path, files, warnings):
    report = import_book(put(tmp_path / "book", **files), today=TODAY)

    assert report.problems == []
    told = [str(row) for row in report.warnings if row.file != "items.csv"]
    assert sorted(told) == sorted(warnings)
    assert Horse.objects.exists()


def test_a_folder_without_anything_odd_warns_of_nothing(tmp_path):
    assert import_book(put(tmp_path / "book"), today=TODAY).warnings == []


def test_rows_that_the_book_has_already_are_not_warned_about_again(tmp_path):
    files = {"clients_csv": "+ada,Ann\n", "purchases_csv": "+2026-10-02,shoe,200,3.40\n"}
    first = import_book(put(tmp_path / "one", **files), today=TODAY)
    second = import_book(put(tmp_path / "two", **files | {"places_csv": "+yard,BARN\n"}), today=TODAY)

    assert [(row.file, row.line) for row in first.warnings] == [("clients.csv", 4), ("purchases.csv", 3)]
    assert [str(row) for row in second.warnings] == ['places.csv:3: name: another place is named "BARN" too']


def test_kilometers_have_their_own_limit(tmp_path):
    files = {
        "practice_csv": BASE["practice.csv"].replace(",mi,", ",km,"),
        "readings_csv": READINGS + "2026-10-15,truck,start,110\n2026-10-16,truck,start,1700\n",
    }

    assert import_book(put(tmp_path / "book", **files), today=TODAY).warnings == []


@pytest.mark.slow
def test_the_command_tells_warnings_as_json_or_on_standard_error(empty_book, tmp_path):
    folder = put(tmp_path / "season", payments_csv="+p2,2026-11-27,ann,5,cash\n")
    today = {"ROUNDBOOK_TODAY": TODAY.isoformat()}

    as_json = run_command("import_book", folder, "--check", "--json", **empty_book | today)
    plain = run_command("import_book", folder, **empty_book | today)

    message = "2026-11-27 is after today, 2026-11-26"
    assert json.loads(as_json.stdout)["warnings"] == [
        {"file": "payments.csv", "line": 3, "column": "date", "message": message}
    ]
    assert (as_json.returncode, as_json.stderr) == (0, "")
    assert (plain.returncode, plain.stderr) == (0, f"payments.csv:3: date: {message}\n")
