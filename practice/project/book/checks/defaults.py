"""Values that other columns of a row decide where it leaves them blank."""

from practice.lib.countries import country_of
from practice.project.book.columns import PRACTICE
from practice.project.book.reader import Folder, FolderRow


def fill_in(folder: Folder) -> None:
    """Work out the defaults that depend on other columns: the mileage scheme and the distance of a leg."""
    for row in folder.rows(PRACTICE):
        if row["mileage_scheme"] is None:
            row["mileage_scheme"] = country_of(row["country"]).mileage_scheme.name
    for name in ("legs.csv", "leg_changes.csv"):
        for row in folder.rows(name):
            _leg_distance(folder, row)


def _leg_distance(folder: Folder, row: FolderRow) -> None:
    name, start, end, distance = row.file.name, row["start_odometer"], row["end_odometer"], row["distance"]
    if start is not None and end is not None:
        if end < start:
            folder.complain(name, row.line, "end_odometer", f"{end} is lower than start_odometer, {start}")
        elif distance is not None and distance != end - start:
            folder.complain(
                name, row.line, "distance", f"{distance} does not match the odometer readings: {end - start}"
            )
        row["distance"] = end - start
    elif distance is None and not any(p.file == name and p.line == row.line for p in folder.problems):
        folder.complain(name, row.line, "distance", "is required unless both odometer readings are given")
