"""Expenses that repeat, tools, and the folder of photos and documents: out of the book and in again."""

from datetime import date
from decimal import Decimal

import pytest

from billing.actions.receipts import keep_receipt, receipt_file
from billing.models import Equipment, Expense, RepeatingExpense
from practice.lib.logo import keep_logo, logo_file
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from tests.factories.billing import EquipmentFactory, ExpenseFactory, RepeatingExpenseFactory
from tests.factories.practice import ProfileFactory, VehicleFactory
from tests.pictures import PDF, opened, photo, telephone_photo

D = Decimal
OWN = ("repeating_expenses.csv", "equipment.csv", "files.csv")


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "data"
    settings.DATA_DIR.mkdir()


@pytest.fixture
def furnished(db):
    """A book with a logo, two expenses of which one has no ref, what repeats, and tools."""
    ProfileFactory()
    truck = VehicleFactory(ref="truck")
    keep_logo(photo(colour="black"))
    ExpenseFactory(ref="e1", receipt=keep_receipt(photo()))
    ExpenseFactory(receipt=keep_receipt(PDF), vehicle=truck)
    ExpenseFactory(ref="e3")
    RepeatingExpenseFactory(
        ref="phone", vendor="Ember", note="line, two", answered_through=date(2026, 3, 31), vehicle=truck
    )
    RepeatingExpenseFactory(valid_to=date(2026, 12, 31), every="year", category="vehicle insurance")
    EquipmentFactory(ref="anvil", name="Anvil", disposed_on=date(2026, 5, 2), disposed_for=D("120.00"))
    EquipmentFactory(name="Forge", note="gas")


def test_files_that_came_later_hold_what_they_say(furnished, tmp_path):
    export_book(tmp_path / "out")

    lines = {name: (tmp_path / "out" / name).read_text().splitlines() for name in OWN}
    second = Expense.objects.exclude(ref="e1").exclude(receipt="").get()
    assert lines["repeating_expenses.csv"][:2] == [
        "ref,category,amount,every,from,to,vendor,vehicle,note,answered_through",
        'phone,utilities,46.50,month,2026-01-31,,Ember,truck,"line, two",2026-03-31',
    ]
    assert lines["equipment.csv"][:2] == [
        "ref,name,placed_in_service,cost,disposed_on,disposed_for,note",
        "anvil,Anvil,2024-03-01,640.00,2026-05-02,120.00,",
    ]
    assert lines["files.csv"][2:] == [
        f"{Expense.objects.get(ref='e1').receipt},receipt,e1,",
        f"{second.receipt},receipt,{second.key},",
    ]
    names = sorted(line.split(",")[0] for line in lines["files.csv"][1:])
    assert sorted(path.name for path in (tmp_path / "out" / "files").iterdir()) == names


@pytest.mark.slow
def test_photos_and_tools_come_back_byte_for_byte(furnished, tmp_path, check_it_comes_back):
    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")


def test_an_export_brought_into_its_own_book_changes_nothing(furnished, tmp_path):
    export_book(tmp_path / "out")

    report = import_book(tmp_path / "out")

    assert report.problems == []
    assert {(row["new"], row["updated"]) for row in report.files} == {(0, 0)}


def folder_with(tmp_path, files_csv: str, **files: bytes):
    """A book folder of one expense `e1` and some files."""
    folder = tmp_path / "in"
    (folder / "files").mkdir(parents=True)
    (folder / "expenses.csv").write_text("ref,date,category,amount\ne1,2026-10-14,office,5.00\n")
    (folder / "files.csv").write_text(files_csv)
    for name, content in files.items():
        (folder / "files" / name.replace("_", ".")).write_bytes(content)
    return folder


def test_a_photo_from_elsewhere_is_made_anew_and_known_the_second_time(
    db, tmp_path, django_capture_on_commit_callbacks
):
    folder = folder_with(tmp_path, "name,what,expense\nbill.jpg,receipt,e1\n", bill_jpg=telephone_photo())

    with django_capture_on_commit_callbacks(execute=True):
        first = import_book(folder)
    second = import_book(folder)

    kept = opened(receipt_file(Expense.objects.get().receipt).read_bytes())
    assert (first.problems, second.problems, dict(kept.getexif())) == ([], [], {})
    assert {row["file"]: row["new"] for row in second.files} == {"expenses.csv": 0, "files.csv": 0}


def test_a_check_keeps_no_file(db, tmp_path, settings, django_capture_on_commit_callbacks):
    folder = folder_with(tmp_path, "name,what,expense\nbill.pdf,receipt,e1\n", bill_pdf=PDF)

    with django_capture_on_commit_callbacks(execute=True):
        report = import_book(folder, check=True)

    assert (report.problems, Expense.objects.count()) == ([], 0)
    assert not (settings.DATA_DIR / "receipts").exists()


def test_another_logo_takes_the_place_of_the_books(db, tmp_path, django_capture_on_commit_callbacks):
    keep_logo(photo(colour="black"))
    new = photo(format="PNG")

    with django_capture_on_commit_callbacks(execute=True):
        import_book(folder_with(tmp_path, "name,what\nlogo.png,logo\n", logo_png=new))

    assert (logo_file().name, logo_file().read_bytes()) == ("logo.png", new)


@pytest.mark.parametrize(
    ("text", "files", "problem"),
    [
        ("x.jpg,receipt,e1\n", {}, 'files.csv:2: name: "x.jpg" is not in the folder files'),
        (
            "../expenses.csv,receipt,e1\n",
            {},
            'files.csv:2: name: "../expenses.csv" is not in the folder files',
        ),
        (
            "x.jpg,receipt,e1\n",
            {"x_jpg": b"MZ"},
            "files.csv:2: name: x.jpg: This is neither a photo (JPEG or PNG) nor a PDF.",
        ),
        ("x.jpg,receipt,\n", {"x_jpg": photo()}, "files.csv:2: expense: is required for a receipt"),
        ("x.jpg,logo,e1\n", {"x_jpg": photo()}, "files.csv:2: expense: must be blank for a logo"),
        ("x.jpg,receipt,e9\n", {"x_jpg": photo()}, 'files.csv:2: expense: "e9" is not in expenses.csv'),
        ("", {"x_jpg": photo()}, "files/x.jpg: is not listed in files.csv"),
        (
            "x.jpg,receipt,e1\ny.pdf,receipt,e1\n",
            {"x_jpg": photo(), "y_pdf": PDF},
            'files.csv:3: expense: "e1" already has a receipt',
        ),
    ],
)
def test_a_file_that_cannot_be_is_named_and_nothing_is_brought_in(db, tmp_path, text, files, problem):
    report = import_book(folder_with(tmp_path, "name,what,expense\n" + text, **files))

    assert [str(each) for each in report.problems] == [problem]
    assert not Expense.objects.exists()


@pytest.mark.parametrize(
    ("name", "text", "problem"),
    [
        (
            "repeating_expenses.csv",
            "ref,category,amount,every,from,to\np,office,5,month,2026-01-31,2026-01-30\n",
            "repeating_expenses.csv:2: to: 2026-01-30 is before 2026-01-31",
        ),
        (
            "repeating_expenses.csv",
            "ref,category,amount,every,from\np,office,0,month,2026-01-31\n",
            'repeating_expenses.csv:2: amount: "0" is not above 0',
        ),
        (
            "equipment.csv",
            "ref,name,placed_in_service,cost,disposed_on\na,Anvil,2024-03-01,640,2024-02-01\n",
            "equipment.csv:2: disposed_on: 2024-02-01 is before 2024-03-01",
        ),
        (
            "equipment.csv",
            "ref,name,placed_in_service,cost,disposed_for\na,Anvil,2024-03-01,640,5\n",
            "equipment.csv:2: disposed_on: is required if disposed_for is given",
        ),
    ],
)
def test_what_repeats_and_tools_keep_their_rules_in_a_folder_too(db, tmp_path, name, text, problem):
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / name).write_text(text)

    assert [str(each) for each in import_book(tmp_path / "in").problems] == [problem]
    assert not (RepeatingExpense.objects.exists() or Equipment.objects.exists())
