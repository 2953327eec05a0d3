"""The pack for the tax preparer: a year's totals as a folder of documents."""

from pathlib import Path

from billing.reports.year_end import YearEnd
from practice.lib.errors import RuleBroken


def write_pack(year: YearEnd, folder: Path) -> None:
    """Write the pack of a year into an empty or new folder, all of it or nothing.

    Raises RuleBroken: it is not built yet.
    """
    raise RuleBroken("The pack is not built yet. Leave --out away to see the year's totals.")
