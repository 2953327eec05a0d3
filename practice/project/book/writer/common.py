"""What all writing needs: rows made into objects, found again by their refs."""

from collections.abc import Iterable, Iterator
from itertools import islice

from django.db.models import Model

from practice.lib.inserting import insert
from practice.project.book.lookup import Lookup, SortedRows
from practice.project.book.reader import Folder, FolderRow, own_key
from practice.project.book.values import RefOf
from stock.models import Movement

BATCH, ROWS_AT_ONCE = 400, 2000
RENAMED = {"from": "valid_from", "to": "valid_to"}


class Writer:
    """Writes rows of a folder that passed all checks, inside the caller's transaction."""

    def __init__(self, folder: Folder, lookup: Lookup, sorted_rows: dict[str, SortedRows]):
        self.folder, self.lookup, self.sorted = folder, lookup, sorted_rows
        self.touched_items: set[int] = set()
        self.touched_clients: set[int] = set()

    def new(self, file: str) -> list[FolderRow]:
        return self.sorted[file].new if file in self.sorted else []

    def find(self, file: str, key: str | None):
        return self.lookup.objects[file].get(key) if key else None

    def attributes(self, row: FolderRow, leave_out: Iterable[str] = ("ref",)) -> dict:
        """Return a row's values as a model's attributes, refs as the rows that they point to."""
        values = {}
        for column in row.file.columns:
            if column.name in leave_out:
                continue
            value = row[column.name]
            if isinstance(column.kind, RefOf):
                value = self.find(column.kind.file, value)
            values[RENAMED.get(column.name, column.name)] = value
        return values

    def add(self, file: str, model: type[Model], leave_out: Iterable[str] = ("ref",)) -> None:
        """Write a file's new rows in their order; remember them where others point to them."""
        for rows in self.batches(file):
            objects = [model(**self.attributes(row, leave_out), **own_key(row)) for row in rows]
            if file not in self.lookup.objects:
                insert(objects)
                continue
            model.objects.bulk_create(objects, batch_size=BATCH)
            [key] = rows[0].file.known_by
            for row, written in zip(rows, objects, strict=True):
                self.lookup.objects[file][row[key]] = written

    def batches(self, file: str) -> Iterator[list[FolderRow]]:
        """Yield a file's new rows in their order, so many at a time that what is made of them stays small."""
        coming = iter(self.new(file))
        while rows := list(islice(coming, ROWS_AT_ONCE)):
            yield rows

    def let_go(self, *still_needed: str) -> None:
        """Forget the rows that are written and what they point to, but for those of some files."""
        self.lookup.objects.clear()
        self.lookup.shared.clear()
        for name in self.folder.tables.keys() - set(still_needed):
            self.folder.tables[name] = []
            self.sorted[name] = SortedRows()

    def change(self, file: str, leave_out: Iterable[str] = ("ref",)) -> None:
        """Write a file's changed rows: the columns given, and no other."""
        for row, before in self.sorted[file].changed if file in self.sorted else ():
            absent = [name for name in row.file.by_name if name not in row.given]
            for name, value in self.attributes(row, [*leave_out, *absent]).items():
                setattr(before, name, value)
            before.save()

    def add_facts(self, movements: Iterable[Movement]) -> list[Movement]:
        """Write facts of stock; their items are costed again at the end."""
        written = Movement.objects.bulk_create(list(movements), batch_size=BATCH)
        self.touched_items |= {movement.item_id for movement in written}
        return written
