"""Figures in words, ready for a page or a paper: rows of sums that add up, and tables."""

from dataclasses import dataclass


@dataclass(frozen=True)
class SumRow:
    """A row of sums that add up: its sign, what it is, and the figure in words; `late` shows it as wrong."""

    sign: str
    label: str
    amount: str
    total: bool = False
    late: bool = False


@dataclass(frozen=True)
class FigureRow:
    """A row of a table: what it is about, one figure for each further column, and notes under its name."""

    name: str
    cells: tuple[str, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class FigureTable:
    """A table of figures: a heading for each column, the rows, and the sums under them."""

    heads: tuple[str, ...]
    rows: tuple[FigureRow, ...]
    sums: tuple[FigureRow, ...] = ()

    @property
    def body(self) -> list[tuple[FigureRow, list[tuple[str, str]]]]:
        """Each row with its figures, each figure with the heading of its column."""
        return [self._labelled(row) for row in self.rows]

    @property
    def foot(self) -> list[tuple[FigureRow, list[tuple[str, str]]]]:
        """The sums in the same way."""
        return [self._labelled(row) for row in self.sums]

    def _labelled(self, row: FigureRow) -> tuple[FigureRow, list[tuple[str, str]]]:
        return row, list(zip(self.heads[1:], row.cells, strict=True))
