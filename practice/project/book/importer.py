"""A folder into the book: all of it or nothing."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.project.book.checks import Checks, fill_in
from practice.project.book.files import files
from practice.project.book.files_folder import read_files
from practice.project.book.lookup import Lookup
from practice.project.book.reader import Folder, Problem, read_folder
from practice.project.book.worked_out import compare_ledger, compare_settlements
from practice.project.book.writer import Writer


@dataclass
class Report:
    """What an import did, or would do: rows by file, and everything that is wrong with the folder."""

    files: list[dict] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)


class _TakenBack(Exception):
    """Ends the transaction without keeping anything."""


def import_book(
    folder: Path, check: bool = False, progress: Callable[[str], None] = lambda step: None
) -> Report:
    """Bring a folder in. After an error, or with `check`, the book is what it was.

    Raises RuleBroken where there is no such folder, or the book is the demo practice.
    """
    if not folder.is_dir():
        raise RuleBroken(f"{folder} is not a folder.")
    if Profile.current().is_demo:
        raise RuleBroken(
            "This book is the demo practice. Begin a book of your own: name another data folder"
            " with ROUNDBOOK_DATA, and start with --empty."
        )
    report = Report()
    progress("reading")
    content = read_folder(folder, Profile.current().currency)
    try:
        with transaction.atomic():
            _bring_in(content, report, progress)
            if check or content.problems:
                raise _TakenBack
    except _TakenBack:
        pass
    report.problems = in_order(content.problems)
    return report


def in_order(problems: list[Problem]) -> list[Problem]:
    """Return problems once each, by file and column in the order of the contract, and by line."""
    order = {file.name: (number, list(file.by_name)) for number, file in enumerate(files())}

    def place(problem: Problem) -> tuple:
        number, columns = order.get(problem.file, (len(order), []))
        column = columns.index(problem.column) if problem.column in columns else -1
        return number, problem.file, problem.line or 0, column, problem.message

    return sorted(set(problems), key=place)


def _bring_in(content: Folder, report: Report, progress: Callable[[str], None]) -> None:
    profile = Profile.locked()
    all_files = files(content.currency)
    lookup = Lookup(content, all_files)
    progress("checking")
    lookup.check_refs()
    fill_in(content)
    read_files(content)
    # A row that cannot be read has been complained of: it is neither new nor known.
    unreadable = {(problem.file, problem.line) for problem in content.problems}
    sorted_rows = {}
    for file in all_files:
        if file.name in content.tables:
            sorted_rows[file.name] = found = lookup.sort(file)
            found.new = [row for row in found.new if (file.name, row.line) not in unreadable]
            counted = {"new": len(found.new), "updated": len(found.changed), "known": found.known}
            report.files.append({"file": file.name, **counted})
    Checks(content, lookup, sorted_rows, profile).all()
    if content.problems:
        return
    writer = Writer(content, lookup, sorted_rows)
    report.warnings = writer.write(progress)
    progress("comparing")
    compare_settlements(content)
    compare_ledger(content)
