"""Two actions, timed by turns."""

from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass, field
from statistics import median


@dataclass
class Timed:
    """An action, and the context that each of its turns runs in; only the action is timed."""

    action: Callable
    within: Callable = nullcontext
    times: list[float] = field(default_factory=list)

    def turn(self, clock: Callable[[], float]) -> None:
        with self.within():
            begin = clock()
            self.action()
            self.times.append(clock() - begin)


def medians_of_turns(one: Timed, other: Timed, turns: int, clock: Callable[[], float]) -> tuple[float, float]:
    """Let the two take turns, the first of which does not count; return the median of each."""
    for timed in [one, other] * (1 + turns):
        timed.turn(clock)
    return median(one.times[1:]), median(other.times[1:])
