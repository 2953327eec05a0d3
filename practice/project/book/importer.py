"""Importing a folder into the book: all of it or nothing."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.project.book.checks import check_new_rows
from practice.project.book.checks.common import Checks
from practice.project.book.checks.defaults import fill_in
from practice.project.book.files import files
from practice.project.book.files_folder import keep_attachments, read_files
from practice.project.book.lookup import Lookup
from practice.project.book.odd import odd_rows
from practice.project.book.reader import Folder, Problem, read_folder
from practice.project.book.worked_out import compare_ledger, compare_settlements
from practice.project.book.writer import write_new_rows


@dataclass
class Report:
    """What an import did, or would do: rows by file, everything wrong with the folder, and what is odd."""

    files: list[dict] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    warnings: list[Problem] = field(default_factory=list)


class _RolledBack(Exception):
    """Ends the transaction without saving anything."""


def import_book(
    folder: Path,
    check: bool = False,
    progress: Callable[[str], None] = lambda step: None,
    today: date | None = None,
) -> Report:
    """Import a folder. After an error, or with `check`, the book is unchanged.

    Warnings stop nothing; after an error there are none. Days after `today` are warned about.

    Raises RuleBroken("folder_not_found"), and RuleBroken("demo_book") if the book is the demo practice.
    """
    if not folder.is_dir():
        raise RuleBroken("folder_not_found", f"{folder} is not a folder. Check the name.")
    if Profile.current().is_demo:
        raise RuleBroken(
            "demo_book",
            "This book is the demo practice. To begin your own book, name another data folder"
            " with ROUNDBOOK_DATA and run start with --empty.",
        )
    report = Report()
    content = read_folder(folder, Profile.current().currency, progress)
    try:
        with transaction.atomic():
            _bring_in(content, report, progress, today)
            if check or content.problems:
                raise _RolledBack
            keep_attachments(content.new_files)
    except _RolledBack:
        pass
    report.problems = in_order(content.problems)
    report.warnings = [] if report.problems else in_order(report.warnings)
    return report


def in_order(problems: list[Problem]) -> list[Problem]:
    """Return each problem once, sorted by file, line and column in the order of the files."""
    order = {file.name: (number, list(file.by_name)) for number, file in enumerate(files())}

    def position(problem: Problem) -> tuple:
        number, columns = order.get(problem.file, (len(order), []))
        column = columns.index(problem.column) if problem.column in columns else -1
        return number, problem.file, problem.line or 0, column, problem.message

    return sorted(set(problems), key=position)


def _bring_in(content: Folder, report: Report, progress: Callable[[str], None], today: date | None) -> None:
    profile = Profile.locked()
    all_files = files(content.currency)
    lookup = Lookup(content, all_files)
    progress("Checking")
    lookup.check_refs()
    fill_in(content)
    read_files(content)
    # A row that could not be read is reported already: it is neither new nor known.
    unreadable = {(problem.file, problem.line) for problem in content.problems}
    sorted_rows = {}
    for file in all_files:
        if file.name in content.tables:
            sorted_rows[file.name] = rows = lookup.sort(file)
            rows.new = [row for row in rows.new if (file.name, row.line) not in unreadable]
            counted = {"new": len(rows.new), "updated": len(rows.changed), "known": rows.known}
            report.files.append({"file": file.name, **counted})
    report.warnings = _check(Checks(content, lookup, sorted_rows, profile), today)
    if content.problems:
        return
    report.warnings += write_new_rows(content, lookup, sorted_rows, progress)
    progress("Comparing")
    compare_settlements(content)
    compare_ledger(content)


def _check(checks: Checks, today: date | None) -> list[Problem]:
    """Complain about what is wrong with new rows; return what is odd, nothing where anything is wrong."""
    check_new_rows(checks)
    return [] if checks.folder.problems else [*odd_rows(checks, today)]
