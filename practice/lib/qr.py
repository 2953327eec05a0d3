"""A code that a phone's camera reads, as a drawing of lines and nothing else."""

from dataclasses import dataclass
from itertools import groupby

QUIET = 4  # the light edge that ISO/IEC 18004 asks for, in modules


@dataclass(frozen=True)
class QrDrawing:
    """Its side in modules, edge included, and the path of its dark ones."""

    side: int
    path: str


def qr_of(text: str) -> QrDrawing:
    """Return the drawing of a text, which is still read where a little of it is dirty or torn."""
    import segno

    rows = segno.make_qr(text, error="m").matrix
    path = "".join(_row(row, number) for number, row in enumerate(rows, QUIET))
    return QrDrawing(len(rows) + 2 * QUIET, path)


def _row(row: bytearray, number: int) -> str:
    """Return the dark stretches of a row, each one module high."""
    drawn, column = "", QUIET
    for is_dark, stretch in groupby(row):
        length = len(list(stretch))
        if is_dark:
            drawn += f"M{column} {number}h{length}v1h-{length}z"
        column += length
    return drawn
