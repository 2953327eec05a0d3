"""Charts as inline SVG: where lines, bands and columns lie, worked out from plain numbers.

`parts/chart.html` draws a `Chart` on a page, with classes; a paper draws the columns with colours as
attributes. Beside each chart stands a table that says the same. Lengths are in units of the view box.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from practice.lib.figures import FigureTable

WIDTH, HEIGHT = 358, 222
LEFT, RIGHT, TOP, BOTTOM = 44, 352, 30, 186


@dataclass(frozen=True)
class Tick:
    """A line across at `at`, and the number that it stands for."""

    at: float
    value: float


@dataclass(frozen=True)
class Frame:
    """The plot's scale up: from `low` at the bottom to `high` at the top."""

    low: float
    high: float
    ticks: list[Tick]
    bottom: int = BOTTOM

    def y(self, value: float) -> float:
        """Return how far down a value lies."""
        return round(self.bottom - (value - self.low) / (self.high - self.low) * (self.bottom - TOP), 1)

    @property
    def zero(self) -> float:
        return self.y(0)


def round_step(span: float, most: int = 4) -> float:
    """Return a round step (1, 2 or 5 times a power of ten) that divides a span into at most so many."""
    raw = span / most if span > 0 else 1.0
    power = 10 ** math.floor(math.log10(raw))
    return next(step * power for step in (1, 2, 5, 10) if step * power >= raw * 0.999999)


def frame(values: Sequence[float], bottom: int = BOTTOM) -> Frame:
    """Return a frame with round ticks that holds the values and zero."""
    low, high = min(0.0, *values), max(0.0, *values)
    step = round_step(high - low)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    if first == last:
        last += 1
    made = Frame(first * step, last * step, [], bottom)
    made.ticks.extend(Tick(made.y(i * step), i * step) for i in range(first, last + 1))
    return made


@dataclass(frozen=True)
class SteppedLine:
    """A stepped line with its band over days, the first one at the left; `x` of each day's beginning."""

    frame: Frame
    line: str
    band: str
    x: list[float]
    width: int = WIDTH
    height: int = HEIGHT
    right: int = RIGHT


def course(middle: Sequence[float], low: Sequence[float], high: Sequence[float]) -> SteppedLine:
    """Return the drawing of a course: one value, and its band, for each day."""
    days = len(middle)
    x = [round(LEFT + (RIGHT - LEFT) * i / max(days - 1, 1), 1) for i in range(days)]
    scale = frame([*middle, *low, *high])
    upper, lower = _steps(x, [scale.y(v) for v in high]), _steps(x, [scale.y(v) for v in low])
    band = "M" + "L".join(f"{a} {b}" for a, b in [*upper, *reversed(lower)]) + "Z"
    line = "M" + "L".join(f"{a} {b}" for a, b in _steps(x, [scale.y(v) for v in middle]))
    return SteppedLine(scale, line, band, x)


def _steps(x: Sequence[float], y: Sequence[float]) -> list[tuple[float, float]]:
    """Return the corners of steps: each value holds until the next one's place."""
    corners = [(x[0], y[0])]
    for i in range(1, len(x)):
        corners += [(x[i], y[i - 1]), (x[i], y[i])]
    return corners


@dataclass(frozen=True)
class Bar:
    """A column of a chart, and the middle of its foot; `best` is the one that stands out."""

    x: float
    y: float
    width: float
    height: float
    middle: float
    value: float
    label: str
    best: bool = False


@dataclass(frozen=True)
class BarChart:
    """Columns beside each other in a view box of `width` and `height`; the plot ends at `right`."""

    frame: Frame
    columns: list[Bar]
    width: int
    height: int

    @property
    def right(self) -> int:
        return self.width - (WIDTH - RIGHT)

    @property
    def words(self) -> int:
        """How far down the words under the columns stand."""
        return self.frame.bottom + 12


def columns(
    numbers: Sequence[Decimal | float],
    labels: Sequence[str],
    width: int = WIDTH,
    height: int = HEIGHT,
    best: int | None = None,
) -> BarChart:
    """Return the drawing of columns beside each other, above or below zero; `best` stands out."""
    values = [float(number) for number in numbers]
    scale = frame(values or [0.0], height - (HEIGHT - BOTTOM))
    pitch = (width - (WIDTH - RIGHT) - LEFT) / max(len(values), 1)
    drawn = []
    for i, (value, label) in enumerate(zip(values, labels, strict=True)):
        top, foot = scale.y(max(value, 0)), scale.y(min(value, 0))
        x = LEFT + i * pitch
        drawn.append(
            Bar(
                round(x + pitch * 0.12, 1),
                top,
                round(pitch * 0.76, 1),
                round(foot - top, 1),
                round(x + pitch / 2, 1),
                value,
                label,
                best=i == best,
            )
        )
    return BarChart(scale, drawn, width, height)


@dataclass(frozen=True)
class ChartWord:
    """A word in a chart: above the plot, or at its foot. `anchor` is SVG's `start`, `middle` or `end`."""

    text: str
    x: float
    y: int
    anchor: str = "middle"
    look: str = ""


ABOVE, FOOT = 16, BOTTOM + 24


@dataclass(frozen=True)
class ChartMark:
    """A line up through the plot at `x`; `look` is its class in `charts.css`."""

    x: float
    look: str


@dataclass(frozen=True)
class Chart:
    """A chart as `parts/chart.html` shows it.

    `title` says what it is of and `description` what it shows, for those who hear the page. `note`
    stands under it; `table`, folded, says the same; None where the page shows that table itself.
    """

    drawing: BarChart | SteppedLine
    title: str
    description: str
    table: FigureTable | None = None
    note: str = ""
    words: tuple[ChartWord, ...] = ()
    marks: tuple[ChartMark, ...] = ()
    folded: str = "Show as a table"
