"""What stands for photos in the demo practice: plain drawings of a few findings."""

from decimal import Decimal
from io import BytesIO

from practice.project.demo.stories import STORIES

SIZE, SCALE, QUALITY = (480, 400), 2, 75
GROUND, HORN, DARK_HORN, SOLE = "#d9d2c3", "#a58a66", "#6f5a3f", "#cdb894"
FROG, LINE, INK, GAP = "#8a7458", "#e6d7ae", "#2f261b", "#1b1510"
# Where the wall meets the ground and the coronet, of a foot whose toe is so long, in inches.
GROUND_AT, CORONET_AT, TOE = 330, 80, Decimal("3.25")
DRAWN = {(seen.kind, seen.note): seen for story in STORIES for seen in story.seen if seen.is_drawn}


def drawings(findings: list[dict]) -> dict[str, tuple[bytes, str]]:
    """Return a picture, as a JPEG, and its caption for each finding that is drawn, by the finding's UUID."""
    found = {}
    for row in findings:
        if seen := DRAWN.get((row["kind"], row["note"])):
            picture = wall_with_crack(Decimal(seen.inches)) if seen.inches else sole_with_gap()
            found[row["uuid"]] = (picture, f"A drawing, not a photo: {seen.kind}, {seen.zone}.")
    return found


def wall_with_crack(inches: Decimal) -> bytes:
    """Draw a foot from the front, with a crack of some length up from the ground at the toe."""
    picture, draw = _paper()
    _polygon(draw, [(150, CORONET_AT), (330, CORONET_AT), (400, GROUND_AT), (80, GROUND_AT)], HORN)
    _polygon(draw, [(142, 56), (338, 56), (330, CORONET_AT), (150, CORONET_AT)], DARK_HORN)
    for ring in range(1, 5):
        at = CORONET_AT + 50 * ring
        out = 70 * (at - CORONET_AT) // (GROUND_AT - CORONET_AT)
        _line(draw, [(154 - out, at), (240, at + 6), (326 + out, at)], DARK_HORN, 1)
    top = GROUND_AT - int(inches / TOE * (GROUND_AT - CORONET_AT))
    steps = [(240 + (3 if step % 2 else -3), at) for step, at in enumerate(range(GROUND_AT, top, -12))]
    _line(draw, [*steps, (241, top)], GAP, 4)
    _line(draw, [(30, GROUND_AT), (450, GROUND_AT)], INK, 3)
    return _saved(picture)


def sole_with_gap() -> bytes:
    """Draw a foot from below, toe up, with a gap in the white line at the toe."""
    picture, draw = _paper()
    for inset, color in ((0, HORN), (22, LINE), (30, SOLE)):
        draw.ellipse([SCALE * at for at in (100 + inset, 30 + inset, 380 - inset, 372 - inset)], fill=color)
    draw.arc([SCALE * at for at in (124, 54, 356, 348)], 246, 282, fill=GAP, width=6 * SCALE)
    _polygon(draw, [(240, 150), (300, 352), (240, 330), (180, 352)], FROG)
    _line(draw, [(240, 200), (240, 320)], INK, 3)
    for x, toward in ((168, 222), (312, 258)):
        _line(draw, [(x, 340), (toward, 200)], DARK_HORN, 4)
    return _saved(picture)


def _paper():
    from PIL import Image, ImageDraw

    picture = Image.new("RGB", tuple(SCALE * side for side in SIZE), GROUND)
    return picture, ImageDraw.Draw(picture)


def _polygon(draw, points: list[tuple[int, int]], color: str) -> None:
    draw.polygon(_scaled(points), fill=color)
    _line(draw, [*points, points[0]], INK, 3)


def _line(draw, points: list[tuple[int, int]], color: str, width: int) -> None:
    draw.line(_scaled(points), fill=color, width=width * SCALE, joint="curve")


def _scaled(points: list[tuple[int, int]]) -> list[tuple[int, int]]:
    return [(SCALE * x, SCALE * y) for x, y in points]


def _saved(picture) -> bytes:
    out = BytesIO()
    picture.resize(SIZE).save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
