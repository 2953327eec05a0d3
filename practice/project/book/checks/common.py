"""What all checks need: the new rows, the book, its closed days, and a way to complain."""

from datetime import date

from practice.lib.profile import Profile
from practice.project.book.lookup import Lookup, SortedRows
from practice.project.book.reader import Folder, FolderRow


class Checks:
    """A folder with what the book holds already, and where complaints about its new rows go."""

    def __init__(self, folder: Folder, lookup: Lookup, sorted_rows: dict[str, SortedRows], profile: Profile):
        self.folder, self.lookup, self.sorted, self.profile = folder, lookup, sorted_rows, profile
        self.visit_rows = {row["ref"]: row for row in folder.rows("visits.csv")}

    def new(self, file: str) -> list[FolderRow]:
        return self.sorted[file].new if file in self.sorted else []

    def new_or_changed(self, file: str) -> list[FolderRow]:
        return (
            [*self.new(file), *(row for row, _ in self.sorted[file].changed)] if file in self.sorted else []
        )

    def complain(self, row: FolderRow, column: str, message: str) -> None:
        self.folder.complain(row.file.name, row.line, column, message)

    def must_be_open(self, row: FolderRow, column: str, day: date | None) -> None:
        """Complain about a row of a day that is closed for good."""
        if day and self.profile.is_closed(day):
            through = self.profile.closed_through.isoformat()
            self.complain(row, column, f"{day.isoformat()} is closed for good (through {through})")

    def must_end_after_it_begins(self, row: FolderRow, begin: str = "from", end: str = "to") -> bool:
        """Complain about a row whose last day is before its first; return whether it is in order."""
        in_order = not (row[begin] and row[end] and row[end] < row[begin])
        if not in_order:
            self.complain(row, end, f"{row[end]} is before {row[begin]}")
        return in_order

    def day_of(self, visit: str | None) -> date | None:
        known = self.lookup.in_book("visits.csv", visit)
        if known is not None:
            return known.date
        return self.visit_rows[visit]["date"] if visit in self.visit_rows else None

    def status_of(self, visit: str | None) -> str | None:
        known = self.lookup.in_book("visits.csv", visit)
        if known is not None:
            return known.status
        return self.visit_rows[visit]["status"] if visit in self.visit_rows else None
