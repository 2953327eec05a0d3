"""How a folder meets a book that holds something already, and how the commands speak."""

import json
import signal
import subprocess
import sys
from decimal import Decimal

import pytest

from practice.lib.profile import Profile
from practice.models import Client, Place, Visit, Work
from practice.project.book.importer import import_book
from practice.project.book.values import Number
from stock.models import Shelf
from tests.processes import ROOT, run_command, surroundings
from tests.project.test_book_errors import BASE, put

pytestmark = pytest.mark.django_db


def counts(report):
    return {row["file"]: (row["new"], row["updated"], row["known"]) for row in report.files}


def test_importing_the_same_folder_twice_changes_nothing_the_second_time(tmp_path):
    folder = put(tmp_path / "book")
    first = import_book(folder)

    second = import_book(folder)

    assert (first.problems, second.problems) == ([], [])
    assert set(counts(second)) == set(BASE)
    assert {(new, updated) for new, updated, _ in counts(second).values()} == {(0, 0)}
    assert Shelf.objects.get().on_hand == 8


def test_a_known_ref_updates_what_is_given_and_a_blank_empties_it(tmp_path):
    import_book(put(tmp_path / "book", clients_csv="ref,name,phone,notes\nann,Ann,555,kind\nben,Ben,556,\n"))

    report = import_book(put(tmp_path / "again", clients_csv="ref,name,notes\nann,Anna,\n"))

    assert counts(report)["clients.csv"] == (0, 1, 0)
    assert Client.objects.values_list("name", "phone", "notes").get(ref="ann") == ("Anna", "555", "")


def test_rows_without_a_key_count_as_copies(tmp_path):
    import_book(put(tmp_path / "book"))

    report = import_book(put(tmp_path / "again", work_csv="+v1,juniper,trim\nv1,juniper,trim\n"))

    assert counts(report)["work.csv"] == (2, 0, 1)
    assert Work.objects.count() == 3


def test_rows_are_compared_as_values_with_defaults_filled_in(tmp_path):
    import_book(put(tmp_path / "book"))

    work = "visit,horse,service,quantity,price,note\nv1,juniper,trim,1.000,,\n"
    report = import_book(put(tmp_path / "again", work_csv=work))

    assert counts(report)["work.csv"] == (0, 0, 1)


def test_a_byte_order_mark_and_lines_within_quotes_are_read(tmp_path):
    text = '\ufeffref,name,notes\r\nann,Ann,"first\r\nsecond"\r\nben,"Ben ""B"", junior", spaced \r\n'

    report = import_book(put(tmp_path / "book", clients_csv=text))

    assert report.problems == []
    assert list(Client.objects.values_list("name", "notes")) == [
        ("Ann", "first\r\nsecond"),
        ('Ben "B", junior', " spaced "),
    ]


def test_a_rows_line_is_where_it_begins(tmp_path):
    text = 'ref,name,notes\nann,Ann,"first\nsecond"\nben,,\n'

    [problem] = import_book(put(tmp_path / "book", clients_csv=text)).problems

    assert (problem.line, problem.column) == (4, "name")


def test_a_ref_that_was_not_given_is_the_rows_uuid(tmp_path):
    import_book(put(tmp_path / "book"))
    place = Place.objects.create(name="Fenn Paddock")

    report = import_book(put(tmp_path / "again", visits_csv=f"+v3,2026-10-16,{place.uuid},planned\n"))

    assert report.problems == []
    assert Visit.objects.get(ref="v3").place == place


def test_who_paid_on_closed_days_stays(tmp_path):
    import_book(put(tmp_path / "book"))
    Profile.objects.update(closed_through="2026-08-31")
    rows = "horse,client,from\njuniper,ben,\njuniper,ben,2026-08-31\njuniper,ben,2026-09-01\n"

    report = import_book(put(tmp_path / "again", bill_to_csv=rows))

    closed = "from: the book is closed through 2026-08-31: give a later day to begin on"
    assert [str(row) for row in report.problems] == [f"bill_to.csv:{line}: {closed}" for line in (2, 3)]


def test_closed_through_is_taken_over_after_the_rows(tmp_path):
    text = BASE["practice.csv"].replace("\n", ",closed_through\n", 1)[:-1] + ",2026-12-31\n"

    assert import_book(put(tmp_path / "book", practice_csv=text)).problems == []
    assert str(Profile.current().closed_through) == "2026-12-31"


def test_a_check_reports_and_changes_nothing(tmp_path):
    report = import_book(put(tmp_path / "book"), check=True)

    assert counts(report)["clients.csv"] == (2, 0, 0)
    assert Client.objects.count() == 0


@pytest.mark.parametrize(
    ("number", "text"),
    [("12.500", "12.5"), ("100", "100"), ("0.000001", "0.000001"), ("-0", "0"), ("1E+3", "1000")],
)
def test_decimals_are_written_plainly(number, text):
    assert Number().write(Decimal(number)) == text


@pytest.mark.slow
def test_the_command_speaks_json_and_ends_with_2_for_an_error(empty_book, tmp_path):
    good, bad = put(tmp_path / "good"), put(tmp_path / "bad", visits_csv="+v3,2026-10-16,p99,planned\n")

    refused = run_command("import_book", bad, "--json", **empty_book)
    plain = run_command("import_book", bad, **empty_book)
    taken = run_command("import_book", good, "--json", **empty_book)

    assert (refused.returncode, plain.returncode, taken.returncode) == (2, 2, 0)
    assert json.loads(refused.stdout)["errors"] == [
        {"file": "visits.csv", "line": 4, "column": "place", "message": '"p99" is not in places.csv'}
    ]
    assert plain.stdout == ""
    assert plain.stderr.splitlines()[0] == 'visits.csv:4: place: "p99" is not in places.csv'
    document = json.loads(taken.stdout)
    assert document["errors"] == []
    assert document["files"][1] == {"file": "clients.csv", "new": 2, "updated": 0, "known": 0}


def test_nothing_comes_into_the_demo_practice(tmp_path):
    from practice.lib.errors import RuleBroken

    Profile.objects.create(name="Demo", is_demo=True)

    with pytest.raises(RuleBroken):
        import_book(put(tmp_path / "book"))


WRITES_AND_WAITS = """
import sys, time
from pathlib import Path
import django
django.setup()
from practice.project.book import importer
def wait(folder):
    print("written", flush=True)
    time.sleep(60)
importer.compare_settlements = wait
importer.import_book(Path(sys.argv[1]))
"""


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_an_import_killed_before_it_committed_leaves_the_book_as_it_was(tmp_path):
    folder = put(tmp_path / "book")
    process = subprocess.Popen(
        [sys.executable, "-c", WRITES_AND_WAITS, str(folder)],
        cwd=ROOT,
        env=surroundings(DJANGO_SETTINGS_MODULE="practice.project.settings"),
        stdout=subprocess.PIPE,
        text=True,
    )
    said = process.stdout.readline().strip()
    process.send_signal(signal.SIGKILL)
    process.wait()
    process.stdout.close()

    assert said == "written"
    assert (Profile.objects.count(), Client.objects.count(), Visit.objects.count()) == (0, 0, 0)
    assert import_book(folder).problems == []
    assert Visit.objects.count() == 2


def test_a_file_may_be_absent(tmp_path):
    (tmp_path / "book").mkdir()
    (tmp_path / "book" / "clients.csv").write_text("ref,name\nann,Ann\n")

    assert import_book(tmp_path / "book").problems == []
    assert Client.objects.get().name == "Ann"
