"""What is wrong with a book, and what to do about it."""

from collections.abc import Iterable
from dataclasses import dataclass

SHOWN = 5
RESTORE = (
    "Restore the last backup from before, in Settings, Backups, or with `restore FILE --replace`. The book"
    " that is here is backed up first."
)


@dataclass(frozen=True)
class NamedFault:
    """Something that is wrong: a code for programs, what it is, and what to do.

    `of_machine`: the machine lacks something, and the book itself is all right.
    """

    code: str
    what: str
    remedy: str
    of_machine: bool = False


def some_of(names: Iterable[object]) -> str:
    """Return a few names, and how many more there are: `GF-1, GF-2 and 4 more`."""
    names = [str(name) for name in names]
    more = len(names) - SHOWN
    return ", ".join(names[:SHOWN]) + (f" and {more} more" if more > 0 else "")
