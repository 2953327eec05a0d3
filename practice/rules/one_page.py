"""How much of a history goes on one page. Pure."""

from dataclasses import dataclass

ENDING = "…"


@dataclass(frozen=True)
class Room:
    """How many rows of each kind, and how many letters of each text, there is room for.

    Four feet stand side by side, so that a text there has less.
    """

    rows: int
    letters: int

    @property
    def in_a_foot(self) -> int:
        return self.letters // 3


# Tried one after the other until the page holds it all.
ROOMS = (Room(10, 170), Room(5, 170), Room(4, 120), Room(3, 90), Room(2, 66), Room(1, 48))


def cut(words: str, letters: int) -> str:
    """Return words on one line, of at most so many letters."""
    line = " ".join(words.split())
    return line if len(line) <= letters else f"{line[: letters - 1].rstrip()}{ENDING}"


def left_out(count: int, room: Room, what: str) -> str:
    """Say how many rows there is no room for: `3 earlier ones are left out.`"""
    more = count - room.rows
    if more <= 0:
        return ""
    return f"1 earlier {what} is left out." if more == 1 else f"{more} earlier {what}s are left out."
