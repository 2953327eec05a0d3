"""What a few horses of the demo practice have on record: how they are to be shod, and what their feet showed.

Angles, lengths, and how fast a crack grows out are common practice, no source.
"""

from dataclasses import dataclass
from decimal import Decimal

from practice.project.demo.scenario import RED, VET

# After the trim, of a foot that needs nothing, by size of shoe: a toe so long, in inches.
TOES = {
    "000": "2.5",
    "00": "2.75",
    "0": "3",
    "1": "3.25",
    "2": "3.5",
    "3": "3.75",
    "4": "4",
    "5": "4.25",
}
FORE_ANGLE, HIND_ANGLE = Decimal("52.5"), Decimal("55")
# From one time to the next: half a degree. A toe is an eighth of an inch too long for each degree.
A_BIT, AN_EIGHTH = Decimal("0.5"), Decimal("0.125")


@dataclass(frozen=True)
class SeenOnce:
    """A sign at the shoeing so many before the last one; at the next it was seen to, unless it `is_open`.

    `told_after`: the minutes from the arrival until the veterinarian was told; `inches`: how long a crack is
    drawn.
    """

    ago: int
    foot: str
    zone: str
    kind: str
    note: str
    marked: str = "slight"
    is_open: bool = False
    told_after: int = 0
    is_drawn: bool = False
    inches: str = ""


@dataclass(frozen=True)
class Ordered:
    """How some feet are to be shod, from the shoeing so many before the last one to another, or on.

    `with_shoe`: with the shoe that the foot wears now.
    """

    feet: tuple[str, ...]
    ago: int
    until: int | None = None
    with_shoe: bool = False
    pad: str = ""
    packing: str = ""
    angle: str = ""
    note: str = ""
    by: str = ""


@dataclass(frozen=True)
class FeetStory:
    """What is on record of one horse: one whose `special` this is, and whose plan begins so.

    `low`: how many degrees the forefeet were below the angle that is aimed at; so they come up.
    """

    special: str
    plan: str
    fit: str = ""
    pad: str = ""
    packing: str = ""
    low: str = "0"
    seen: tuple[SeenOnce, ...] = ()
    ordered: tuple[Ordered, ...] = ()


STORIES = (
    FeetStory(
        "bar",
        "fronts",
        fit="full at the heels",
        ordered=(Ordered(("LF", "RF"), 8, with_shoe=True, note="heels kept full", by=VET),),
    ),
    FeetStory(
        "wedge",
        "fronts",
        fit="set back at the toe",
        pad="3-degree wedge",
        packing="pine tar and oakum",
        low="3",
        seen=(
            SeenOnce(3, "LF", "outside quarter", "flare", "Dressed it back."),
            SeenOnce(0, "RF", "seat of corn", RED, "Small. Look again.", is_open=True),
        ),
        ordered=(
            Ordered(
                ("LF", "RF"),
                8,
                pad="3-degree wedge",
                packing="pine tar and oakum",
                angle=str(FORE_ANGLE),
                by=VET,
            ),
        ),
    ),
    FeetStory(
        "",
        "full",
        fit="set back at the toe",
        seen=(
            SeenOnce(
                *(5, "RF", "toe", "crack", "An inch and a half, up from the ground. Rolled the toe."),
                marked="moderate",
                is_drawn=True,
                inches="1.5",
            ),
            SeenOnce(4, "RF", "toe", "crack", "An inch left.", is_drawn=True, inches="1"),
            SeenOnce(3, "RF", "toe", "crack", "Half an inch left.", is_drawn=True, inches="0.5"),
        ),
        ordered=(Ordered(("RF",), 5, until=2, note="Roll the toe until the crack is out"),),
    ),
    FeetStory(
        "",
        "trim",
        seen=(
            SeenOnce(
                *(3, "LF", "white line", "separation", "Dug out to solid horn. The owner keeps it dry."),
                marked="moderate",
                is_drawn=True,
            ),
            SeenOnce(2, "LF", "white line", "separation", "Dry, and half as deep."),
            SeenOnce(0, "LF", "white line", "separation", "Just a crease. Look again.", is_open=True),
        ),
    ),
    FeetStory(
        "",
        "fronts-hot",
        fit="full at the heels",
        seen=(
            SeenOnce(
                *(3, "RF", "sole", RED),
                "The size of a quarter. No reaction to the hoof testers. Showed the owner.",
            ),
        ),
    ),
    FeetStory(
        "",
        "fronts-cold",
        fit="full at the heels",
        seen=(
            SeenOnce(
                *(
                    2,
                    "LF",
                    "white line",
                    "pus draining",
                    "Came up short. Called the vet first, and shod as told.",
                ),
                marked="",
                told_after=15,
            ),
        ),
    ),
)
