"""A count sheet on paper, to be filled in with a pencil. It does not say what the book expects."""

from dataclasses import dataclass
from datetime import date

from practice.lib import formats
from practice.lib.profile import Profile
from stock.models import Item, Side
from stock.reports.counting import CountSheet


@dataclass(frozen=True)
class CountPaperLine:
    """An item to count, in words. `unit` is what it is counted in, with the pack that it comes in."""

    name: str
    size: str
    side: str
    unit: str


@dataclass(frozen=True)
class CountPaper:
    """A count sheet as it is printed: its lines by kind, in shelf order. `size` is `Letter` or `A4`."""

    language: str
    size: str
    practice_name: str
    location: str
    printed: str
    sections: list[tuple[str, list[CountPaperLine]]]


def count_paper(sheet: CountSheet, on: date, profile: Profile) -> CountPaper:
    """Return a location's sheet as it is printed on a day."""
    return CountPaper(
        language=profile.locale,
        size=profile.home_country.paper,
        practice_name=profile.name,
        location=sheet.name,
        printed=formats.long_date(on, profile.locale),
        sections=[
            (label, [_line(line.item, profile.locale) for line in lines]) for label, lines in sheet.sections
        ],
    )


def _line(item: Item, locale: str) -> CountPaperLine:
    pack = "" if item.pack_size == 1 else f", {formats.quantity(item.pack_size, locale)} to a pack"
    side = "" if item.side == Side.ANY else item.get_side_display().lower()
    return CountPaperLine(str(item), item.size, side, item.unit + pack)
