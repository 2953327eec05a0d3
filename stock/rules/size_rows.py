"""A row of sizes as a farrier writes it: `0-3`, `00, 0, 1`. Pure."""

import re
from collections.abc import Sequence

# Shoes run 000, 00, 0, 1, 2 and so on; the larger the figure, the larger the shoe.
LADDER = ("0000", "000", "00", *map(str, range(21)))
MOST, LONGEST = 24, 40
BETWEEN = re.compile(r"\s*[,;]\s*|\s+")
RANGE = re.compile(r"(\w+)\s*(?:[-–—]|\bto\b)\s*(\w+)")


def sizes_in(text: str) -> list[str]:
    """Return the sizes that a text names, in its order. Raises ValueError with what to type instead."""
    spread = RANGE.sub(lambda found: " ".join(_from_to(found[1], found[2])), text.strip())
    sizes = list(dict.fromkeys(size for size in BETWEEN.split(spread) if size))
    if len(sizes) > MOST:
        raise ValueError(f"Type at most {MOST} sizes in one row.")
    if any(len(size) > LONGEST for size in sizes):
        raise ValueError("A size is too long. Type sizes such as 0-3, or 00, 0, 1.")
    return sizes


def _from_to(first: str, last: str) -> Sequence[str]:
    if first not in LADDER or last not in LADDER or LADDER.index(first) > LADDER.index(last):
        raise ValueError(f"{first}-{last} is not a range of sizes. Type the smaller one first, such as 00-3.")
    return LADDER[LADDER.index(first) : LADDER.index(last) + 1]


def words_in(text: str) -> list[str]:
    """Return the figures of a text such as `8, 8, 12` or `3.40 3,60`: a comma within a figure stays."""
    return [word for word in (part.strip(",;") for part in re.split(r"[\s;]+|,\s+", text)) if word]


def one_for_each(values: list, sizes: Sequence[str], what: str) -> list:
    """Return a value for each size: one for all of them, or as many as there are sizes.

    Raises ValueError with what to type instead; `what` names a value: `count`.
    """
    if len(values) == 1:
        return values * len(sizes)
    if len(values) != len(sizes):
        raise ValueError(
            f"There are {len(sizes)} sizes, but {len(values)} figures here."
            f" Type one {what} for all of them, or one for each, with spaces between."
        )
    return values
