"""What stock costs: the ledger of one item, worked out from its facts by date. Pure, on plain values.

Moving weighted average (perpetual) or FIFO, each from its day on; one average or one queue of layers over
all locations.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction

from stock.rules.facts import (
    AVERAGE,
    FIFO,
    CostingState,
    Fact,
    Layer,
    Ledger,
    LedgerMark,
    method_on,
    part_of,
    round4,
)
from stock.rules.ledger import Costing


def work_out(
    facts: Iterable[Fact],
    method: str,
    state: CostingState | None = None,
    *,
    changes: Sequence[tuple[date, str]] = (),
    rows_before: int = 0,
    mark_every: int = 0,
) -> Ledger:
    """Return the ledger of one item from its facts in ledger order, going on from `state`.

    `method` is `moving_average` or `fifo`; `changes` are the days from which another one holds, in order.
    The caller leaves out pairs of a fact and its reversal on one day. The uses that a return gives back, and
    the fact that a late reversal undoes, have to be among `facts` (or in `state`, where it comes from
    `work_out` itself). A mark is made where the ledger, which had `rows_before`, passes another
    `mark_every` rows; 0: none.
    Raises RuleBroken("return_exceeds_use") where more comes back from a visit than was used there.
    """
    state = state or CostingState()
    state.method = state.method or method
    costing = _METHODS[state.method](state, [], [])
    marks, passed = [], rows_before
    for fact in facts:
        if state.method != (now := method_on(fact.date, method, changes)):
            state.turn_to(now)
            costing = _METHODS[now](state, costing.rows, costing.warnings)
        costing.add(fact)
        rows = rows_before + len(costing.rows)
        if mark_every and rows // mark_every > passed // mark_every:
            marks.append(LedgerMark(fact.key, rows, costing.state.as_plain()))
        passed = rows
    return Ledger(costing.rows, costing.state, costing.warnings, marks)


class _Average(Costing):
    """One moving weighted average, carried unrounded: value / quantity."""

    def _shelve(self, quantity: Decimal, unit_cost: Fraction) -> None:
        """Nothing to keep: quantity and value of the whole shelf say it all."""

    def _newest_cost(self) -> Fraction:
        return Fraction(self.state.value) / Fraction(self.state.quantity)

    def _unshelve(self, quantity: Decimal) -> Decimal:
        state = self.state
        if quantity == state.quantity:
            state.last_cost = self._newest_cost()
            return state.value
        return part_of(state.value, quantity, state.quantity)


class _Fifo(Costing):
    """A queue of layers, the oldest used first."""

    def _shelve(self, quantity: Decimal, unit_cost: Fraction) -> None:
        if quantity:
            self.state.layers.append(Layer(quantity, unit_cost))

    def _newest_cost(self) -> Fraction:
        return self.state.layers[-1].unit_cost

    def _unshelve(self, quantity: Decimal) -> Decimal:
        state, left, cost = self.state, quantity, Fraction(0)
        while left > 0:
            layer = state.layers[0]
            part = min(left, layer.quantity)
            cost += Fraction(part) * layer.unit_cost
            state.last_cost = layer.unit_cost
            layer.quantity -= part
            left -= part
            if layer.quantity == 0:
                state.layers.pop(0)
        return state.value if quantity == state.quantity else round4(cost)


_METHODS = {AVERAGE: _Average, FIFO: _Fifo}
