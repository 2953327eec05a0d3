"""What is kept until the stamp of the book changes, and how many work it out."""

from threading import Barrier, Thread

import pytest

from practice.lib import kept
from practice.lib.kept import Kept


class Book:
    """A stamp, and what is worked out of it: the day with how often that was done by then."""

    def __init__(self):
        self.stamp, self.worked_out, self.meanwhile = ("one",), 0, None

    def work_out(self, day: str) -> str:
        self.worked_out += 1
        if self.meanwhile:
            self.meanwhile()
        return f"{day} {self.worked_out}"


@pytest.fixture
def book(monkeypatch):
    book = Book()
    monkeypatch.setattr(kept, "stamps_of", lambda tables: book.stamp)
    return book


def test_it_is_worked_out_again_for_another_stamp_or_another_day(book):
    value = Kept(book.work_out, [])

    told = [value("Monday"), value("Monday")]
    book.stamp = ("two",)
    told += [value("Monday"), value("Tuesday"), value("Tuesday")]

    assert told == ["Monday 1", "Monday 1", "Monday 2", "Tuesday 3", "Tuesday 3"]


def test_where_nothing_changes_the_stamp_nothing_is_kept(book):
    value, book.stamp = Kept(book.work_out, []), ()

    assert [value("Monday"), value("Monday")] == ["Monday 1", "Monday 2"]


def test_what_changed_while_it_was_worked_out_is_not_kept(book):
    value = Kept(book.work_out, [])

    def save():
        book.stamp, book.meanwhile = ("two",), None

    book.meanwhile = save

    assert [value("Monday"), value("Monday"), value("Monday")] == ["Monday 1", "Monday 2", "Monday 2"]


def test_an_error_is_not_kept_and_lets_the_next_one_try(book):
    value = Kept(book.work_out, [])

    def fail():
        book.meanwhile = None
        raise ValueError

    book.meanwhile = fail
    with pytest.raises(ValueError):
        value("Monday")

    assert value("Monday") == "Monday 2"


def test_ten_who_ask_at_once_get_what_one_of_them_works_out(book):
    value, told, together = Kept(book.work_out, []), [], Barrier(10)

    def ask():
        together.wait()
        told.append(value("Monday"))

    threads = [Thread(target=ask) for _ in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert (told, book.worked_out) == (["Monday 1"] * 10, 1)
