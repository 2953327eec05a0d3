"""What the folder says was worked out, compared with what the book works out."""

from collections import Counter

from practice.project.book.columns import BookFile
from practice.project.book.files import files
from practice.project.book.reader import Folder


def compare_settlements(folder: Folder) -> None:
    """Complain of settlements of the folder that the book does not arrive at."""
    _compare(folder, "settlements.csv", "the book works out no such settlement")


def compare_ledger(folder: Folder) -> None:
    """Complain of rows of the folder's ledger that the book does not arrive at."""
    _compare(folder, "stock_movements.csv", "the book works out no such row")


def _compare(folder: Folder, name: str, message: str) -> None:
    if not folder.rows(name):
        return
    file: BookFile = next(file for file in files(folder.currency) if file.name == name)
    book = Counter(frozenset(file.values(row).items()) for row in file.rows())
    for row in folder.rows(name):
        key = frozenset(row.values.items())
        if not book[key]:
            folder.complain(name, row.line, "", message)
        book[key] -= 1
