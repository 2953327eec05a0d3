"""Compares what the folder says was worked out with what the book works out."""

from practice.project.book.files import files
from practice.project.book.lookup import without_copies
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
    file = next(file for file in files(folder.currency) if file.name == name)
    others, _ = without_copies(file, folder.rows(name))
    for row in others:
        folder.complain(name, row.line, "", message)
