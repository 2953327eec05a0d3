"""What the book has already, and which rows of a folder are new, changed or known."""

from collections import Counter
from collections.abc import Hashable
from dataclasses import dataclass, field
from typing import Any

from practice.lib.characters import shown
from practice.project.book.columns import PRACTICE, BookFile
from practice.project.book.reader import Folder, FolderRow
from practice.project.book.values import RefOf


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
        for file in all_files:
            if file.known_by in (("ref",), ("number",)):
                self.objects[file.name] = self._by_key(file)

    def _by_key(self, file: BookFile) -> dict[str, Any]:
        by_key = {}
        for row in file.stream():
            if file.known_by == ("number",):
                by_key[row.number] = row
            else:
                by_key[str(row.uuid)] = row
                by_key[row.key] = row
        return by_key

    def in_book(self, file: str, key: str | None) -> Any:
        """Return the book's row with this key, None where there is none."""
        return self.objects[file].get(key) if key else None

    def check_refs(self) -> None:
        """Point every ref at its row, by the book's key; report those that point nowhere."""
        own = {
            name: {row[self.files[name].known_by[0]] for row in self.folder.rows(name)}
            for name in self.objects
        }
        for rows in self.folder.tables.values():
            for row in rows:
                for column in row.file.columns:
                    value = row[column.name]
                    if not isinstance(column.kind, RefOf) or value is None:
                        continue
                    target = self.in_book(column.kind.file, value)
                    if target is not None:
                        row.values[column.name] = getattr(target, "number", None) or target.key
                    elif value not in own[column.kind.file] and column.kind.file not in self.folder.unread:
                        message = f'"{shown(value)}" is not in {column.kind.file}'
                        self.folder.complain(row.file.name, row.line, column.name, message)

    def sort(self, file: BookFile) -> SortedRows:
        """Return which rows of a file are new, changed or known; report duplicates and contradictions."""
        if file.name == PRACTICE:
            return self._sort_keyed(file, dict.fromkeys(["one"], file.rows().first()))
        if file.known_by in (("ref",), ("number",)):
            return self._sort_keyed(file, self.objects[file.name])
        if file.known_by:
            return self._sort_keyed(
                file, {self._natural_key(file, file.values(row)): row for row in file.stream()}
            )
        return self._sort_copies(file)

    def _natural_key(self, file: BookFile, values: dict[str, Any]) -> Hashable:
        if file.name == PRACTICE:
            return "one"
        key = tuple(values[name] for name in file.known_by)
        return key[0] if len(key) == 1 else key

    def _sort_keyed(self, file: BookFile, book: dict[Hashable, Any]) -> SortedRows:
        result, seen = SortedRows(), set()
        for row in self.folder.rows(file.name):
            key = self._natural_key(file, row.values)
            if key in seen:
                named = ", ".join(str(row[name]) for name in file.known_by if name in row.values)
                column = file.known_by[0] if len(file.known_by) == 1 and file.name != PRACTICE else ""
                self.folder.complain(file.name, row.line, column, f'"{named}" appears twice in {file.name}')
                continue
            seen.add(key)
            known = book.get(key)
            if known is None:
                result.new.append(row)
                continue
            before = file.values(known)
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
        result = SortedRows()
        book = Counter(frozenset(file.values(row).items()) for row in file.stream())
        # The exact copies first: what they leave may stand for a row that leaves something blank.
        others = []
        for row in self.folder.rows(file.name):
            key = frozenset(row.values.items())
            if book[key]:
                book[key] -= 1
                result.known += 1
            else:
                others.append(row)
        left = Counter()
        for key, copies in book.items() if file.filled_in else ():
            left[_without(dict(key), file.filled_in)] += copies
        for row in others:
            key = _without(row.values, file.filled_in)
            is_blank = all(row[name] is None for name in file.filled_in)
            if file.filled_in and is_blank and left[key]:
                left[key] -= 1
                result.known += 1
            else:
                result.new.append(row)
        return result


def _without(values: dict[str, Any], names: tuple[str, ...]) -> frozenset:
    return frozenset((name, value) for name, value in values.items() if name not in names)


def _is_same(new, old, name: str) -> bool:
    """Whether two values are the same; a row's own key may be its ref or its UUID."""
    return name == "ref" or new == old or (new in (None, "") and old in (None, ""))
