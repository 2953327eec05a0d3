"""The four feet as they were left, for paper."""

from dataclasses import dataclass

from practice.models import Foot, MaterialUse, Work
from stock.models import ItemKind

FORE = ("LF", "RF")


@dataclass(frozen=True)
class FootShown:
    """A foot (`LF`), whether it left with a shoe, and that in a word or two: `No 2`, `trim`."""

    foot: str
    shod: bool
    words: str

    @property
    def title(self) -> str:
        return f"{Foot(self.foot).label.lower()}, {self.words}"


def feet_left(work: list[Work], uses: list[MaterialUse]) -> list[FootShown]:
    """Return the feet as they were left: shod where a shoe or nails went, else by the service."""
    shod = {use.foot: "shod" for use in uses if use.foot and use.item.kind == ItemKind.NAIL}
    for use in uses:
        if use.foot and use.item.kind == ItemKind.SHOE:
            shod[use.foot] = f"No {use.item.size}" if use.item.size else "new shoe"
    if not shod:
        nailed = max((row.service.feet_nailed or 0 for row in work), default=0)
        if nailed in (2, 4):
            shod = dict.fromkeys(FORE if nailed == 2 else Foot.values, "shod")
        elif nailed or not any(row.service.resets_cycle for row in work):
            return []
    trimmed = any(row.service.resets_cycle for row in work)
    if not trimmed:
        return [FootShown(foot, True, words) for foot, words in shod.items()]
    return [FootShown(foot, foot in shod, shod.get(foot, "trim")) for foot in Foot.values]
