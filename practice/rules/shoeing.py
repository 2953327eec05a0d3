"""What a foot wears, in words, and what changed since the time before. Pure."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

# What is said of a foot, in the order in which it is shown.
SHOE, FITTED, FIT, NAILS, CLIPS, PAD, PACKING = "Shoe", "Fitted", "Fit", "Nails", "Clips", "Pad", "Packing"
ANGLE, TOE_LENGTH, NOTE = "Angle", "Toe length", "Note"
SAID = (SHOE, FITTED, FIT, NAILS, CLIPS, PAD, PACKING, ANGLE, TOE_LENGTH, NOTE)
OF_MATERIALS = (SHOE, NAILS)
# A measure that was not taken again, and a note, are no change.
ONLY_IF_BOTH, NEVER = (ANGLE, TOE_LENGTH), (NOTE,)
NOTHING = "none"
BARE = "barefoot"


@dataclass(frozen=True)
class FootLine:
    """One thing that is said of a foot; `before` is what it was, None where it is the same."""

    name: str
    value: str
    before: str | None = None

    @property
    def is_changed(self) -> bool:
        return self.before is not None

    @property
    def was(self) -> str:
        """What it was, short; blank where it is the same."""
        return f"was {self.before}" if self.before else ""

    @property
    def change(self) -> str:
        """Say what changed: `Changed, was 52°`."""
        return "New, none before" if self.before == NOTHING else f"Changed, was {self.before}"


def compared(is_recorded: bool, was_recorded: bool) -> tuple[str, ...]:
    """Return what of a foot can be compared with the time before: a record says more than materials do."""
    if is_recorded == was_recorded:
        return SAID if is_recorded else OF_MATERIALS
    return (SHOE,)


def lines_of(
    now: Mapping[str, str], before: Mapping[str, str], names: Collection[str] = ()
) -> list[FootLine]:
    """Return what is said of a foot; what of `names` is not as before is marked."""
    lines = []
    for name in SAID:
        value, was = now.get(name, ""), before.get(name, "")
        is_compared = name in names and name not in NEVER
        if name in ONLY_IF_BOTH:
            is_compared = is_compared and bool(value and was)
        if is_compared and value != was:
            lines.append(FootLine(name, value or NOTHING, was or NOTHING))
        elif value:
            lines.append(FootLine(name, value))
    return lines


def nails_in_words(item: str, count: int, outside: int | None, inside: int | None) -> str:
    """Return the nails of a foot: `6 × slim No 4 (3 outside, 3 inside)`, as far as it is known."""
    sides = [
        f"{number} {side}"
        for number, side in ((outside, "outside"), (inside, "inside"))
        if number is not None
    ]
    where = ", ".join(sides)
    used = f"{count} × {item}" if item else ""
    return f"{used} ({where})" if used and where else used or where
