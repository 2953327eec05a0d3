"""What the book has already, and which rows of a folder are new, changed or known."""

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass, field
from typing import Any

from practice.lib.characters import shown
from practice.project.book.columns import PRACTICE, BookFile
from practice.project.book.reader import Folder, FolderRow


@dataclass
class SortedRows:
    """The rows of one file: new ones, known ones that change (with the book's row), known ones."""

    new: list[FolderRow] = field(default_factory=list)
    changed: list[tuple[FolderRow, Any]] = field(default_factory=list)
    known: int = 0


class Lookup:
    """Finds what refs point to, in the folder and in the book."""

    def __init__(self, folder: Folder, all_files: tuple[BookFile, ...]):
        self.folder, self.files = folder, {file.name: file for file in all_files}
        self.objects: dict[str, dict[str, Any]] = {}
        self.shared: dict[tuple[type, int], Any] = {}
        for file in all_files:
            if file.known_by in (("ref",), ("number",)):
                self.objects[file.name] = self._by_key(file)

    def _by_key(self, file: BookFile) -> dict[str, Any]:
        by_key = {}
        for row in file.stream():
            self._share(row)
            if file.known_by == ("number",):
                by_key[row.number] = row
            else:
                by_key[str(row.uuid)] = row
                by_key[row.key] = row
        return by_key

    def _share(self, row) -> None:
        """Let rows that point to one row have it once in memory."""
        for pointer in row._meta.concrete_fields:
            if pointer.is_relation and pointer.is_cached(row) and (found := getattr(row, pointer.name)):
                setattr(row, pointer.name, self.shared.setdefault((type(found), found.pk), found))
        self.shared.setdefault((type(row), row.pk), row)

    def in_book(self, file: str, key: str | None) -> Any:
        """Return the book's row with this key, None where there is none."""
        return self.objects[file].get(key) if key else None

    def check_refs(self) -> None:
        """Point every ref at its row, by the book's key; report those that point nowhere."""
        own = {
            name: {row[self.files[name].known_by[0]] for row in self.folder.rows(name)}
            for name in self.objects
        }
        for name, rows in self.folder.tables.items():
            file = self.files[name]
            for place, pointed in file.pointing():
                book, here = self.objects[pointed], own[pointed]
                for row in rows:
                    value = row.values[place]
                    target = book.get(value) if value else None
                    if target is not None:
                        row.values[place] = getattr(target, "number", None) or target.key
                    elif value is not None and value not in here and pointed not in self.folder.unread:
                        message = f'"{shown(value)}" is not in {pointed}'
                        self.folder.complain(name, row.line, file.columns[place].name, message)

    def sort(self, file: BookFile) -> SortedRows:
        """Return which rows of a file are new, changed or known; report duplicates and contradictions."""
        if file.name == PRACTICE:
            return self._sort_keyed(file, dict.fromkeys(["one"], file.rows().first()))
        if file.known_by in (("ref",), ("number",)):
            return self._sort_keyed(file, self.objects[file.name])
        if file.known_by:
            named = [file.by_name[name] for name in file.known_by]
            return self._sort_keyed(
                file, {_key([column.of(row) for column in named]): row for row in file.stream()}
            )
        return self._sort_copies(file)

    def _natural_key(self, file: BookFile, row: FolderRow) -> Hashable:
        return "one" if file.name == PRACTICE else _key([row[name] for name in file.known_by])

    def _sort_keyed(self, file: BookFile, book: dict[Hashable, Any]) -> SortedRows:
        result, seen = SortedRows(), set()
        for row in self.folder.rows(file.name):
            key = self._natural_key(file, row)
            if key in seen:
                named = ", ".join(str(row[name]) for name in file.known_by if name in file.by_name)
                column = file.known_by[0] if len(file.known_by) == 1 and file.name != PRACTICE else ""
                self.folder.complain(file.name, row.line, column, f'"{named}" appears twice in {file.name}')
                continue
            seen.add(key)
            known = book.get(key)
            if known is None:
                result.new.append(row)
                continue
            before = dict(zip(file.by_name, file.values(known), strict=True))
            different = [name for name in row.given if not _is_same(row[name], before[name], name)]
            if not different:
                result.known += 1
            elif file.updates:
                result.changed.append((row, known))
            else:
                for name in sorted(different, key=list(file.by_name).index):
                    column = file.by_name[name]
                    known_as = column.write(before[name]) or "nothing"
                    message = f"the book has {known_as!r} here, which an import cannot change"
                    self.folder.complain(file.name, row.line, name, message)
        return result

    def _sort_copies(self, file: BookFile) -> SortedRows:
        rows = self.folder.rows(file.name)
        # The exact copies first: what they leave may stand for a row that leaves something blank.
        others, book = without_copies(file, rows)
        left = defaultdict(list)
        for values, copies in book.items() if file.filled_in else ():
            left[_without(file, values)] += [values] * copies
        result = SortedRows(known=len(rows) - len(others))
        for row in others:
            alike = left[_without(file, row.values)] if left else []
            known = next((values for values in alike if _is_filled_in(file, row, values)), None)
            if known is None:
                result.new.append(row)
            else:
                alike.remove(known)
                result.known += 1
        return result


def without_copies(file: BookFile, rows: list[FolderRow]) -> tuple[list[FolderRow], Counter]:
    """Return the rows of a folder of which the book has no copy, and the book's that the folder has not.

    A copy stands for one row. The book is gone through beside the folder: what stands in the same place in
    both takes no memory, and that is all where a book meets its own export.
    """
    coming, others, left = iter(rows), [], Counter()
    for values in map(file.values, file.stream()):
        row = next(coming, None)
        if row is None or tuple(row.values) != values:
            left[values] += 1
            others += [] if row is None else [row]
    others += coming
    new = []
    for row in others if left else ():
        values = tuple(row.values)
        if left[values]:
            left[values] -= 1
        else:
            new.append(row)
    return new if left else others, +left


def _key(values: list) -> Hashable:
    return values[0] if len(values) == 1 else tuple(values)


def _is_filled_in(file: BookFile, row: FolderRow, values: tuple) -> bool:
    """Whether the book's values are a row's, but for blanks of the row that the book filled in."""
    return all(row[name] in (None, "", values[file.place_of[name]]) for name in file.filled_in)


def _without(file: BookFile, values: Iterable) -> tuple:
    """Return the values of a row but for those that the book may have filled in."""
    return tuple(
        value for name, value in zip(file.by_name, values, strict=True) if name not in file.filled_in
    )


def _is_same(new, old, name: str) -> bool:
    """Whether two values are the same; a row's own key may be its ref or its UUID."""
    return name == "ref" or new == old or (new in (None, "") and old in (None, ""))
