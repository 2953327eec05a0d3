"""What one row of a list says."""

from dataclasses import dataclass


@dataclass(frozen=True)
class ListRow:
    """A name that opens `url`, a second line, one fact at the right, whether it is late, words under it."""

    url: str
    name: str
    more: str = ""
    fact: str = ""
    late: bool = False
    note: str = ""
