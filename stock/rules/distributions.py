"""Distributions of quantities: chances by steps, added up exactly. Pure; chances are binary floats."""

import heapq
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

# A distribution has at most this many steps. Quantities that share a step within it are exact; others
# are split between the two steps around them, so that the mean stays. A step is then less than 1/8000
# of the largest demand that can be.
MOST_STEPS = 8_192
TAIL = 1e-13
# What adding up chances leaves of binary rounding.
NEARLY = 1e-11


@dataclass(frozen=True)
class Demand:
    """A distribution: `chances[k]` is the chance that k × `step` is used (in the item's unit)."""

    step: Decimal
    chances: Sequence[float]

    @property
    def mean(self) -> float:
        return float(self.step) * math.fsum(k * chance for k, chance in enumerate(self.chances))

    def quantile(self, level: float) -> Decimal:
        """Return the smallest stock that covers the demand with at least this chance (below 1)."""
        covered = 0.0
        for k, chance in enumerate(self.chances):
            covered += chance
            if covered >= level - NEARLY:
                return k * self.step
        return (len(self.chances) - 1) * self.step

    def chance_above(self, stock: Decimal) -> float:
        """Return the chance that more than `stock` is used."""
        if stock < 0:
            return 1.0
        covered = int(stock / self.step) + 1
        return min(max(math.fsum(self.chances[covered:]), 0.0), 1.0)


def most_events(mean: float) -> int:
    """Return a number of events that a Poisson variable passes with a chance below any that matters."""
    return math.ceil(mean + 10 * math.sqrt(mean) + 20) if mean else 0


@lru_cache(maxsize=4096)
def spread(amounts: tuple[Decimal, ...], step: Decimal) -> dict[int, float]:
    """Return equally likely amounts in steps; one between two steps is split so that its mean stays."""
    chances: dict[int, float] = defaultdict(float)
    for amount in amounts:
        whole, rest = divmod(amount, step)
        upper = float(rest / step)
        chances[int(whole)] += (1 - upper) / len(amounts)
        if upper:
            chances[int(whole) + 1] += upper / len(amounts)
    return dict(chances)


def convolved_sparse(one: Mapping[int, float], other: Mapping[int, float]) -> dict[int, float]:
    chances: dict[int, float] = defaultdict(float)
    for k, chance in one.items():
        for j, part in other.items():
            chances[k + j] += chance * part
    return chances


def convolved(parts: Iterable[Sequence[float]]) -> list[float]:
    """Return the distribution of a sum; the shortest parts are added up first."""
    import numpy

    heap = [(len(part), i, numpy.asarray(part)) for i, part in enumerate(parts)]
    heapq.heapify(heap)
    number = len(heap)
    while len(heap) > 1:
        (_, _, one), (_, _, other) = heapq.heappop(heap), heapq.heappop(heap)
        both = numpy.convolve(one, other)
        heapq.heappush(heap, (len(both), number, both))
        number += 1
    return heap[0][2].tolist()


def compound_poisson(events: float, amounts: Mapping[int, float], most: Decimal) -> list[float]:
    """Return the distribution of a Poisson number of events of these amounts, by Panjer's recursion.

    (H. H. Panjer, Recursive evaluation of a family of compound distributions, ASTIN Bulletin 12, 1981;
    from memory.) Many events are halved first, so that the chance of none is not lost to underflow.
    """
    if events > 400:
        half = compound_poisson(events / 2, amounts, most)
        return trimmed(convolved([half, half]))
    sizes = sorted((k, chance) for k, chance in amounts.items() if k)
    if not sizes:
        return [1.0]
    chances = [math.exp(-events * (1 - amounts.get(0, 0.0)))]
    total, longest = chances[0], most_events(events) * sizes[-1][0]
    while total < 1 - TAIL and len(chances) <= longest:
        k = len(chances)
        chance = events / k * math.fsum(j * part * chances[k - j] for j, part in sizes if j <= k)
        chances.append(chance)
        total += chance
    return chances


def trimmed(chances: list[float]) -> list[float]:
    """Return the distribution without the end that has no chance worth naming."""
    end, left = len(chances), 0.0
    while end > 1 and left + chances[end - 1] < TAIL:
        end -= 1
        left += chances[end]
    return chances[:end]
