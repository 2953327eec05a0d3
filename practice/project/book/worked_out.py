"""Compares what the folder says was worked out with what the book works out."""

from collections import Counter

from practice.project.book.columns import BookFile
from practice.project.book.files import files
from practice.project.book.reader import Folder


def compare_settlements(folder: Folder) -> None:
    """Report settlements of the folder that the book does not work out itself."""
    _compare(folder, "settlements.csv", "is not a settlement that the book works out")


def compare_ledger(folder: Folder) -> None:
    """Report rows of the folder's ledger that the book does not work out itself."""
    _compare(folder, "stock_movements.csv", "is not a row of the ledger that the book works out")


def _compare(folder: Folder, name: str, message: str) -> None:
    if not folder.rows(name):
        return
    file: BookFile = next(file for file in files(folder.currency) if file.name == name)
    book = Counter(frozenset(file.values(row).items()) for row in file.stream())
    for row in folder.rows(name):
        key = frozenset(row.values.items())
        if not book[key]:
            folder.complain(name, row.line, "", message)
        book[key] -= 1
