"""A ranking as inline SVG: a bar a row, its name and figure on it; `parts/ranking.html` draws it.

Where there are many, the first and the last of them stand apart. All bars have one scale, from zero.
Lengths are in units of the view box.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from practice.lib.charts import WIDTH

FIRST, LAST = 10, 5
PITCH, GAP = 40, 48
WORDS_DOWN, BAR_DOWN, BAR_HIGH = 14, 20, 12
LONGEST_NAME = 40
ZERO = Decimal(0)


@dataclass(frozen=True)
class RankedRow:
    """What is ranked: its name, the value that its bar is as long as, and that value in words."""

    name: str
    value: Decimal
    figure: str


@dataclass(frozen=True)
class RankedBar:
    """A row with its place in the ranking, and where its words and its bar lie."""

    words: str
    figure: str
    words_y: int
    x: Decimal
    y: int
    width: Decimal
    below: bool
    height: int = BAR_HIGH


@dataclass(frozen=True)
class Ranking:
    """The bars of a ranking and where their zero is; `between` says how many are left out, at `between_y`."""

    title: str
    description: str
    bars: list[RankedBar]
    zero: Decimal
    height: int
    between: str = ""
    between_y: int = 0
    width: int = WIDTH


def ranking(rows: Sequence[RankedRow], title: str, description: str) -> Ranking:
    """Return the drawing of rows in their order: all of them, or the first ten and the last five."""
    values = [row.value for row in rows]
    low, high = min(ZERO, *values), max(ZERO, *values)
    scale = WIDTH / ((high - low) or Decimal(1))
    left_out = max(len(rows) - FIRST - LAST, 0)
    bars, y = [], 0
    for rank, (row, value) in enumerate(zip(rows, values, strict=True), start=1):
        if left_out and FIRST < rank <= FIRST + left_out:
            continue
        if left_out and rank == FIRST + left_out + 1:
            y += GAP
        bars.append(
            RankedBar(
                words=f"{rank}. {_short(row.name)}",
                figure=row.figure,
                words_y=y + WORDS_DOWN,
                x=round((min(value, ZERO) - low) * scale, 1),
                y=y + BAR_DOWN,
                width=round(abs(value) * scale, 1),
                below=value < 0,
            )
        )
        y += PITCH
    return Ranking(
        title=title,
        description=description,
        bars=bars,
        zero=round(-low * scale, 1),
        height=y,
        between=f"{left_out} more in between" if left_out else "",
        between_y=FIRST * PITCH + GAP // 2,
    )


def _short(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME - 1].rstrip() + "…"
