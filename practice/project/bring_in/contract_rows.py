"""The rows of the book's files that a sheet comes to, each with the cells that it was made of.

They are imported as a folder is, so that each rule of the book stands once, in the importer's checks.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from uuid import NAMESPACE_URL, UUID, uuid5

from practice.lib.kept_files import draft_of
from practice.project.book.columns import BookFile
from practice.project.book.files import files
from practice.project.book.rows_out import write_rows
from practice.project.bring_in.uploads import folder

OURS = uuid5(NAMESPACE_URL, "urn:roundbook:bring-in")


@dataclass
class ContractRow:
    """A row of a file: values as text, the row of the sheet, the meaning of the cell behind each value."""

    values: dict[str, str]
    number: int
    codes: dict[str, str] = field(default_factory=dict)


class ContractRows:
    """Gathers the rows by file, and writes them as a folder of the book."""

    def __init__(self, currency: str):
        self.files: dict[str, BookFile] = {file.name: file for file in files(currency)}
        self.rows: dict[str, list[ContractRow]] = {}

    def add(self, file: str, number: int, values: dict[str, str], codes: dict[str, str]) -> ContractRow:
        """Add a row of a file, made of a row of the sheet; values that are not given stay blank."""
        row = ContractRow({name: text for name, text in values.items() if text is not None}, number, codes)
        self.rows.setdefault(file, []).append(row)
        return row

    def as_in_book(self, file: str, row) -> dict[str, str]:
        """Return a row of the book as the file has it."""
        described = self.files[file]
        return {column.name: column.write(column.of(row)) for column in described.columns}

    @contextmanager
    def as_folder(self) -> Iterator[tuple[Path, dict[tuple[str, int], ContractRow]]]:
        """Yield a folder with the rows, which goes at the end, and the row on each line of its files."""
        at: dict[tuple[str, int], ContractRow] = {}
        with draft_of(folder() / "book") as path:
            path.mkdir(mode=0o700)
            for name, rows in self.rows.items():
                columns = [
                    column for column in self.files[name].by_name if any(column in row.values for row in rows)
                ]
                lines = write_rows(path / name, columns, [row.values for row in rows])
                at |= {(name, line): row for line, row in zip(lines, rows, strict=True)}
            yield path, at


def made_key(*parts: object) -> UUID:
    """Return the UUID of a row that is made of these: the same for the same, so that it is made once."""
    return uuid5(OURS, "\n".join(map(str, parts)))
