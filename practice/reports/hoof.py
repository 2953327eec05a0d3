"""A foot as `parts/hoof.html` draws it: which shape, which side is the inside, which zones are marked."""

from collections.abc import Iterable
from dataclasses import dataclass

from practice.models import Foot, Zone
from practice.rules.horse_work import FORE


@dataclass(frozen=True)
class ZonePiece:
    """What is tapped to choose a zone: a piece of the drawing, or the same on its other side."""

    zone: str
    piece: str
    is_mirrored: bool = False


# One above the other, so that each needs only its outline: what is tapped is the last one under the finger.
PIECES = (
    ZonePiece(Zone.CORONET, "coronet"),
    ZonePiece(Zone.WALL, "wall"),
    ZonePiece(Zone.TOE, "toe"),
    ZonePiece(Zone.INSIDE_QUARTER, "quarter"),
    ZonePiece(Zone.OUTSIDE_QUARTER, "quarter", is_mirrored=True),
    ZonePiece(Zone.INSIDE_HEEL, "heel"),
    ZonePiece(Zone.OUTSIDE_HEEL, "heel", is_mirrored=True),
    ZonePiece(Zone.WHITE_LINE, "white-line"),
    ZonePiece(Zone.SOLE, "sole"),
    ZonePiece(Zone.SEAT_OF_CORN, "seat-of-corn"),
    ZonePiece(Zone.SEAT_OF_CORN, "seat-of-corn", is_mirrored=True),
    ZonePiece(Zone.BARS, "bars"),
    ZonePiece(Zone.BARS, "bars", is_mirrored=True),
    ZonePiece(Zone.HEEL_BULB, "heel-bulb"),
    ZonePiece(Zone.FROG, "frog"),
)


@dataclass(frozen=True)
class FootDrawing:
    """A foot, toe up as it is held, with the zones that are marked. All feet are drawn as one left fore."""

    foot: str
    zones: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        return Foot(self.foot).label.lower() if self.foot in Foot.values else "all feet"

    @property
    def shape(self) -> str:
        return "fore" if self.foot in FORE or self.foot not in Foot.values else "hind"

    @property
    def is_right(self) -> bool:
        """Whether it is drawn mirrored: the shapes have the inside on the left, as of a left foot."""
        return self.foot in (Foot.RF, Foot.RH)

    @property
    def sides(self) -> tuple[str, str]:
        """What the left and the right of the drawing are."""
        return ("outside", "inside") if self.is_right else ("inside", "outside")

    @property
    def marks(self) -> list[str]:
        """The marked zones, as the shapes are named."""
        return [shape_of(zone) for zone in self.zones]

    @property
    def title(self) -> str:
        """What the drawing shows, for those who do not see it: `Left fore: sole, bars`."""
        return ": ".join(filter(None, [self.name.capitalize(), ", ".join(self.zones)]))


def shape_of(zone: str) -> str:
    """Return the name of a zone's shape: `inside-quarter`."""
    return zone.replace(" ", "-")


def drawn(foot: str, zones: Iterable[str]) -> FootDrawing:
    """Return a foot with these zones marked, each once."""
    return FootDrawing(foot, tuple(dict.fromkeys(map(str, zones))))
