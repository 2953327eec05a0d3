"""What bringing in an upload would do, or what has to be fixed first; and doing it."""

import re
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date

from django.utils.text import capfirst

from practice.lib import formats
from practice.lib.characters import shown
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.project.book.importer import Report, import_book
from practice.project.book.reader import Problem
from practice.project.book.values import OwnRef, RefOf
from practice.project.bring_in.contract_rows import ContractRow
from practice.project.bring_in.known import CLIENT, HORSE, ITEM, PLACE, SERVICE, SUPPLIER
from practice.project.bring_in.money import CREDIT, INVOICE, translate_credit, translate_invoices
from practice.project.bring_in.near_names import near_names
from practice.project.bring_in.people import translate_clients, translate_horses, translate_places
from practice.project.bring_in.rows import CellProblem
from practice.project.bring_in.things import translate_items
from practice.project.bring_in.translation import Tally, Translation
from practice.project.bring_in.uploads import Upload

TRANSLATIONS: dict[str, Callable[[Translation], None]] = {
    "clients": translate_clients,
    "horses": translate_horses,
    "places": translate_places,
    "items": translate_items,
    "invoices": translate_invoices,
    "credit": translate_credit,
}
# In the order of the page: first what the sheet is about.
WORDS = {
    INVOICE: ("open invoice", ""),
    CREDIT: ("client's credit", "clients' credit"),
    HORSE: ("horse", ""),
    ITEM: ("item", ""),
    CLIENT: ("client", ""),
    PLACE: ("place", ""),
    SUPPLIER: ("supplier", ""),
    SERVICE: ("kind of work", "kinds of work"),
}
MOST_NAMED, MOST_WARNINGS = 12, 40


@dataclass(frozen=True)
class CountOfThings:
    """How many of one kind of thing come in, in words, and the names of those that are new."""

    words: str
    names: str = ""


@dataclass
class Outlook:
    """What an upload comes to. `problems` by row; `general` are those of no cell. With any, all waits."""

    upload: Upload
    rows: int
    problems: dict[int, list[CellProblem]] = field(default_factory=dict)
    general: list[str] = field(default_factory=list)
    counts: list[CountOfThings] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    changes: bool = False

    @property
    def is_ready(self) -> bool:
        return not self.problems and not self.general

    @property
    def answer(self) -> str:
        """What the page says first."""
        if not self.is_ready:
            wrong = sum(map(len, self.problems.values())) + len(self.general)
            return f"{formats.counted(wrong, 'thing')} to fix first."
        return "Ready to bring in." if self.changes else "All of it is in the book already."

    @property
    def lead(self) -> str:
        """How many rows are read, and how many of them are left out."""
        left = len(self.upload.left_out)
        out = f" {formats.counted(left, 'row')} left out." if left else ""
        return f"{formats.counted(self.rows, 'row')} of {self.upload.name}.{out}"

    @property
    def act(self) -> str:
        kind = self.upload.kind
        return f"Bring in {formats.counted(self.rows, kind.one, kind.many)}"


def look_ahead(upload: Upload, profile: Profile, today: date) -> Outlook:
    """Return what bringing in an upload would do. Nothing is changed."""
    work, report = _imported(upload, profile, today, check=True)
    outlook = Outlook(upload, len(work.sheet.rows), changes=bool(work.contract.rows))
    problems = [*work.problems]
    for cell, message in _problems_of(report.problems, work):
        if cell is None:
            outlook.general.append(message)
        else:
            problems.append(CellProblem(*cell, message))
    seen = {}
    for problem in problems:
        seen.setdefault((problem.row, problem.column), problem)
    by_row = defaultdict(list)
    for place in sorted(seen):
        by_row[place[0]].append(seen[place])
    outlook.problems = dict(by_row)
    outlook.warnings = [
        f"Row {cell[0] + 1}: {message}" if cell else message
        for cell, message in _problems_of(report.warnings, work)
    ]
    outlook.warnings += _near_names(work)
    if (more := len(outlook.warnings) - MOST_WARNINGS) > 0:
        outlook.warnings[MOST_WARNINGS:] = [f"{more:,} more like these."]
    outlook.counts = _counts(work, profile) if outlook.is_ready else []
    return outlook


def bring_in(upload: Upload, profile: Profile, today: date) -> str:
    """Bring in an upload, all of it or nothing; return what came in, in words.

    Raises RuleBroken("not_ready") where something has to be fixed first.
    """
    work, report = _imported(upload, profile, today, check=False)
    if report.problems or work.problems:
        raise RuleBroken("not_ready", "Something changed since you looked. Fix what is marked below first.")
    return " ".join(row.words for row in _counts(work, profile))


def _imported(upload: Upload, profile: Profile, today: date, check: bool) -> tuple[Translation, Report]:
    """Translate an upload and import it; nothing is imported with `check`, or where a cell is wrong."""
    work = Translation(upload, profile, today)
    TRANSLATIONS[upload.kind.code](work)
    with work.contract.as_folder() as (path, work.at):
        return work, import_book(path, check=check or bool(work.problems), today=today)


def _problems_of(problems: list[Problem], work: Translation):
    """Yield the cell, as row and column, that each of the importer's problems is about, and its words.

    None for the cell where it is about no row.
    """
    for problem in problems:
        row = work.at.get((problem.file, problem.line))
        if row is None:
            yield None, _in_words(problem.message, work.names)
            continue
        message = _in_words(problem.message, _names_in(row, problem.file, work))
        code = row.codes.get(problem.column) or next(iter(row.codes.values()), "")
        yield (row.number, work.sheet.column_of(code)), message


def _names_in(row: ContractRow, file: str, work: Translation) -> dict[str, str]:
    """Return the names of what a row is or points to, by their keys."""
    columns = work.contract.files[file].columns
    keys = [row.values.get(each.name) for each in columns if isinstance(each.kind, OwnRef | RefOf)]
    return {key: work.names[key] for key in keys if key in work.names}


def _in_words(message: str, names: dict[str, str]) -> str:
    """Return what the importer says as a sentence, with names in place of keys.

    A key is a word of its own: the ref `1` is not the 1 of `1900`.
    """
    if keys := [re.escape(key) for key in names if key in message]:
        word = rf"(?<!\w)(?:{'|'.join(keys)})(?!\w)"
        message = re.sub(word, lambda found: shown(names[found[0]]), message)
    return f"{capfirst(message)}{'' if message.endswith('.') else '.'}"


def _near_names(work: Translation) -> list[str]:
    """Say which new clients and places are nearly called as others are."""
    found = []
    for what in (CLIENT, PLACE):
        new = work.tally(what).new
        known = [row.name for row in work.book.all_of(what)] if new else []
        found += [f"{name} is new. Do you mean {other}?" for name, other in near_names(new, known)]
    return found


def _counts(work: Translation, profile: Profile) -> list[CountOfThings]:
    tallies = [(what, work.tallies[what]) for what in WORDS if work.tallies.get(what)]
    rows = [_count(what, tally, work, profile) for what, tally in tallies]
    rows[:1] = [CountOfThings(row.words) for row in rows[:1]]  # what the sheet is about is in the sheet
    if work.visits:
        horses = formats.counted(len(work.contract.rows["work.csv"]), "horse")
        rows.append(CountOfThings(f"The last work on {horses}, so that each comes due on the right day."))
    if used := work.contract.rows.get("materials.csv"):
        rows.append(CountOfThings(f"{formats.counted(len(used), 'shoe')} that they have worn since."))
    if counts := work.contract.rows.get("counts.csv"):
        rows.append(CountOfThings(f"Counts of {formats.counted(len(counts), 'item')}."))
    return rows


def _count(what: str, tally: Tally, work: Translation, profile: Profile) -> CountOfThings:
    one, many = WORDS[what]
    total = formats.counted(len(tally), one, many)
    if what in (INVOICE, CREDIT):
        return CountOfThings(f"{total}: {formats.money(work.sums[what], profile.currency, profile.locale)}.")
    if len(tally.new) == len(tally):
        words = f"{formats.counted(len(tally), f'new {one}', many and f'new {many}')}."
    elif len(tally.known) == len(tally):
        words = f"{total} already in the book."
    else:
        words = f"{total}: {', '.join(filter(None, _parts(tally)))}."
    listed = formats.listed(formats.first_of(tally.new, MOST_NAMED))
    return CountOfThings(words, listed)


def _parts(tally: Tally) -> list[str]:
    return [
        f"{len(tally.new)} new" if tally.new else "",
        f"{len(tally.changed)} in the book to be changed" if tally.changed else "",
        f"{len(tally.known)} already in the book" if tally.known else "",
    ]
