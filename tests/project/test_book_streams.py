"""A large book goes out and comes in without all of it in memory at once."""

from collections import Counter
from types import SimpleNamespace
from weakref import WeakSet

import pytest

from practice.models import Place
from practice.project.book import reader
from practice.project.book.columns import BookFile, text
from practice.project.book.files import files
from practice.project.book.lookup import without_copies
from practice.project.book.reader import FolderRow, read_folder
from practice.project.book.streams import AT_ONCE, completed
from tests.project.test_book_errors import put


@pytest.fixture
def many_places(db):
    Place.objects.bulk_create(Place(name=f"Barn {number}") for number in range(4 * AT_ONCE))


def test_a_file_lets_go_of_the_rows_that_are_through(many_places):
    [places] = [file for file in files() if file.name == "places.csv"]
    alive, most = WeakSet(), 0

    for row in places.stream():
        alive.add(row)
        most = max(most, len(alive))

    assert 1 <= most <= 2 * AT_ONCE


def test_rows_are_completed_some_hundred_at_a_time_and_stay_in_order(many_places):
    sizes = []

    def but_every_tenth(rows):
        sizes.append(len(rows))
        return [row for row in rows if row.pk % 10]

    names = [row.name for row in completed(Place.objects.order_by("pk"), but_every_tenth)]

    kept = Place.objects.order_by("pk").values_list("pk", "name")
    assert names == [name for key, name in kept if key % 10]
    assert sizes == [AT_ONCE] * 4


def test_equal_values_of_a_folder_are_one_in_memory(tmp_path):
    folder = read_folder(put(tmp_path / "book"), "USD")

    visits, [work], [invoice] = (folder.rows(name) for name in ("visits.csv", "work.csv", "invoices.csv"))

    assert work["visit"] is visits[0]["ref"]
    assert (work["visit"], work["quantity"], invoice["client"]) == ("v1", 1, "ann")
    assert visits[0].given is visits[1].given
    assert not hasattr(work, "__dict__")


@pytest.mark.parametrize("at_once", range(1, 14))
@pytest.mark.parametrize(
    ("content", "wrong"),
    [
        (b"\xef\xbb\xbfref,name\nann,\xc3\x84nne\n", None),
        (b"ref,name\nann,\xc3\x84nne\nben,B\xe9n\n", (3, "", "byte 0xe9 is not UTF-8")),
        (b"ref,name\nann,A\xe2\x82", (2, "", "byte 0xe2 is not UTF-8")),
    ],
)
def test_a_byte_that_is_not_utf8_is_found_wherever_the_pieces_end(
    tmp_path, monkeypatch, at_once, content, wrong
):
    monkeypatch.setattr(reader, "AT_ONCE", at_once)
    (tmp_path / "clients.csv").write_bytes(content)

    assert reader._not_utf8(tmp_path / "clients.csv") == wrong


@pytest.mark.parametrize(
    ("book", "folder", "new", "left"),
    [
        ("", "ab", "ab", ""),
        ("ab", "ab", "", ""),
        ("ab", "ba", "", ""),
        ("abbc", "babdc", "d", ""),
        ("aab", "ab", "", "a"),
        ("a", "aaa", "aa", ""),
        ("abc", "xabc", "x", ""),
        ("abc", "", "", "abc"),
    ],
)
def test_a_row_of_the_book_stands_for_one_row_of_the_folder(book, folder, new, left):
    file = BookFile("letters.csv", (text("name"),), lambda: [SimpleNamespace(name=name) for name in book])
    rows = [FolderRow(file, line, [name], frozenset(["name"])) for line, name in enumerate(folder, start=2)]

    others, unmatched = without_copies(file, rows)

    assert "".join(row["name"] for row in others) == new
    assert unmatched == Counter((name,) for name in left)
