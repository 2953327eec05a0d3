"""Writing rows that are not the book's own yet as a file of it, which an import reads."""

import csv
from collections.abc import Sequence
from pathlib import Path


def write_rows(path: Path, columns: Sequence[str], rows: Sequence[dict[str, str]]) -> list[int]:
    """Write rows, blank where a column is not given; return the line on which each begins.

    Lines within a value end with a line feed alone.
    """
    line, lines = 2, []
    with path.open("w", newline="", encoding="utf-8") as out:
        writer = csv.writer(out, lineterminator="\r\n")
        writer.writerow(columns)
        for row in rows:
            cells = [row.get(name, "") for name in columns]
            writer.writerow(cells)
            lines.append(line)
            line += 1 + sum(cell.count("\n") for cell in cells)
    return lines
