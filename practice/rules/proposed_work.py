"""What a new practice is offered for its price list. Pure.

Minutes are common practice, no source: 8 to 20 a foot, by what is done to it.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class ProposedWork:
    """A service to offer; `minutes` for one horse, `new_shoes` and `feet_nailed` of its four feet."""

    name: str
    minutes: int
    new_shoes: int
    feet_nailed: int
    resets_cycle: bool = True


PROPOSED_WORK = (
    ProposedWork("Trim", 30, 0, 0),
    ProposedWork("Reset", 60, 0, 4),
    ProposedWork("Fronts", 55, 2, 2),
    ProposedWork("Full set", 80, 4, 4),
    ProposedWork("Lost shoe", 20, 1, 1, resets_cycle=False),
)
