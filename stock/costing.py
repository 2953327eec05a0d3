"""What the shelf cost: the ledger of one item, worked out from its facts by date. Pure, on plain values.

Moving weighted average (perpetual) or FIFO, one average or one queue of layers over all locations.
Quantities are in the item's unit; costs and values in the practice's currency, to four decimals,
half away from zero. The shelf is right and the book is wrong: a use may take the book below zero;
the short units are booked at the last known cost, and the receipt that covers them corrects it.
"""

from collections.abc import Iterable
from decimal import Decimal, localcontext

from practice.lib.errors import RuleBroken
from stock.facts import (
    CORRECTION,
    COUNT,
    IN_THE_LEDGER,
    RECEIPT,
    REVERSAL,
    TRANSFER,
    USE,
    VISIT_RETURN,
    ZERO,
    Fact,
    Ledger,
    Lot,
    Row,
    State,
    round4,
)

PRECISION = 50


def work_out(facts: Iterable[Fact], method: str, state: State | None = None) -> Ledger:
    """Return the ledger of one item from its facts in ledger order, going on from `state`.

    `method` is `moving_average` or `fifo`. Pairs of fact and reversal are left out by the caller.
    Raises RuleBroken where more comes back from a visit than was used there.
    """
    with localcontext(prec=PRECISION):
        costing = (_Fifo if method == "fifo" else _Average)(state or State())
        for fact in facts:
            costing.add(fact)
        return Ledger(costing.rows, costing.state, costing.warnings)


class _Costing:
    """What both methods share. A method says what units taken from the shelf cost, and where units go."""

    def __init__(self, state: State):
        self.state, self.rows, self.warnings = state, [], []

    def add(self, fact: Fact) -> None:
        state = self.state
        if fact.kind == COUNT:
            self._count(fact)
        elif fact.kind == TRANSFER:
            self._write(fact, -fact.quantity, ZERO, fact.location)
            self._write(fact, fact.quantity, ZERO, fact.to_location)
        elif fact.kind == REVERSAL:
            self._undo(fact)
        elif fact.kind == RECEIPT:
            self._come_in(fact, round4(fact.quantity * fact.unit_cost), fact.unit_cost)
            state.known, state.last_cost = True, fact.unit_cost
        elif fact.kind == VISIT_RETURN:
            cost = self._cost_of_return(fact)
            self._come_in(fact, cost, cost / fact.quantity)
        else:
            cost = self._take(fact.quantity, fact.job)
            if fact.kind == USE:
                used, spent = state.jobs.get(fact.job, (ZERO, ZERO))
                state.jobs[fact.job] = (used + fact.quantity, spent + cost)
            self._write(fact, -fact.quantity, -cost, fact.location)
        state.begun = True

    def _write(self, fact: Fact, quantity: Decimal, cost: Decimal, location, kind: str = "") -> None:
        state = self.state
        state.quantity += quantity
        state.value += cost
        if quantity:
            state.at[location] = state.at.get(location, ZERO) + quantity
        kind = kind or IN_THE_LEDGER.get(fact.kind, fact.kind)
        self.rows.append(Row(fact.key, kind, quantity, cost, location, state.quantity, state.value))

    # What comes in

    def _cost_of_return(self, fact: Fact) -> Decimal:
        used, spent = self.state.jobs.get(fact.job, (ZERO, ZERO))
        if fact.quantity > used:
            raise RuleBroken(
                f"More comes back from the visit than was used there: {fact.quantity:f} of {used:f}."
            )
        cost = spent if fact.quantity == used else round4(spent * fact.quantity / used)
        self.state.jobs[fact.job] = (used - fact.quantity, spent - cost)
        return cost

    def _come_in(self, fact: Fact, cost: Decimal, unit_cost: Decimal) -> None:
        covered = min(fact.quantity, max(-self.state.quantity, ZERO))
        self._write(fact, fact.quantity, cost, fact.location)
        if covered:
            self._cover(fact, covered, unit_cost)
            self.state.last_cost = unit_cost
        self._shelve_rest(fact.quantity - covered)

    def _shelve_rest(self, quantity: Decimal) -> None:
        """Put what is left of a delivery after covering what was short on the shelf, with its value."""
        if self.state.quantity > 0:
            layered = sum((lot.value for lot in self.state.layers), ZERO)
            self._shelve(quantity, self.state.value - layered)

    def _cover(self, fact: Fact, covered: Decimal, unit_cost: Decimal) -> None:
        """Cost the short units that came in, oldest first, at what they turned out to cost."""
        moved = ZERO
        left, state = covered, self.state
        while left > 0 and state.short:
            lot = state.short[0]
            part = min(left, lot.quantity)
            left -= part
            booked = lot.take(part)
            more = round4((covered - left) * unit_cost) - round4((covered - left - part) * unit_cost) - booked
            if state.quantity == 0 and left == 0:
                more = state.value - moved
            moved += more
            self._charge(lot.job, more)
            if lot.quantity == 0:
                state.short.pop(0)
        if moved:
            self._write(fact, ZERO, -moved, fact.location, CORRECTION)

    def _charge(self, job: str, more: Decimal) -> None:
        if job in self.state.jobs:
            used, spent = self.state.jobs[job]
            self.state.jobs[job] = (used, spent + more)

    # What goes out

    def _take(self, quantity: Decimal, job: str = "") -> Decimal:
        """Return what units that leave the shelf cost: those on hand by the method, those short as known."""
        on_hand = max(self.state.quantity, ZERO)
        cost = self._unshelve(min(quantity, on_hand)) if on_hand else ZERO
        missing = quantity - on_hand
        if missing > 0:
            if not self.state.known:
                self.warnings.append(
                    "used before anything was received: costed at 0 until a receipt covers it"
                )
            booked = round4(missing * self.state.last_cost)
            self.state.short.append(Lot(missing, booked, job))
            cost += booked
        return cost

    # What was found

    def _count(self, fact: Fact) -> None:
        state = self.state
        difference = fact.quantity - state.at.get(fact.location, ZERO)
        before, after = state.quantity, state.quantity + difference
        opening = not state.begun or (state.opened == fact.date and fact.location not in state.at)
        if opening or not state.known:
            cost = self._open(fact, after, difference, opening)
        elif after == 0:
            cost = -state.value
            if before > 0:
                state.last_cost = self._newest_cost()
            self._empty()
        elif before < 0:
            cost = self._settle_short(difference, after)
        elif difference == 0:
            cost = ZERO
        elif difference < 0:
            cost = -self._take(-difference)
        else:
            unit_cost = self._newest_cost() if before > 0 else state.last_cost
            cost = self._found(difference, unit_cost)
        self._write(fact, difference, cost, fact.location)

    def _open(self, fact: Fact, after: Decimal, difference: Decimal, opening: bool) -> Decimal:
        """The opening shelf, or the first count of an item never received: at the cost typed with it."""
        state, unit_cost = self.state, fact.unit_cost
        if unit_cost is None:
            unit_cost = ZERO
            if fact.quantity:
                self.warnings.append("counted before any cost was known: valued at 0")
        if opening:
            state.opened = fact.date
            cost = round4(difference * unit_cost)
            if difference:
                self._shelve(difference, cost)
        else:
            value = round4(after * unit_cost)
            cost = value - state.value
            self._start_again(after, state.value + cost)
        state.last_cost, state.known = unit_cost, state.known or fact.unit_cost is not None
        return cost

    def _start_again(self, after: Decimal, value: Decimal) -> None:
        """Forget layers and what was short: all there is now is one lot of this value."""
        self._empty()
        if after > 0:
            self._shelve(after, value)
        elif after < 0:
            self.state.short = [Lot(-after, -value)]

    def _settle_short(self, difference: Decimal, after: Decimal) -> Decimal:
        """A count of an item below zero settles what was short for good, at value / quantity."""
        state = self.state
        average = state.value / state.quantity
        cost = round4(difference * average)
        self._start_again(after, state.value + cost)
        state.last_cost = average
        return cost

    def _undo(self, fact: Fact) -> None:
        """Take back a fact of closed years, with the cost that it had; what does not fit is corrected."""
        moved = [row for row in self.rows if row.fact == fact.reverses and row.kind != CORRECTION]
        if len(moved) != 1:  # a transfer: back to where it came from
            for row in moved:
                self._write(fact, -row.quantity, ZERO, row.location, row.kind)
            return
        state, [row] = self.state, moved
        quantity, cost = -row.quantity, -row.cost
        if quantity > 0:
            covered = min(quantity, max(-state.quantity, ZERO))
            self._write(fact, quantity, cost, row.location, row.kind)
            if covered:
                self._cover(fact, covered, cost / quantity)
            self._shelve_rest(quantity - covered)
            return
        taken = self._take(-quantity) if quantity else ZERO
        self._write(fact, quantity, cost, row.location, row.kind)
        if -cost != taken:
            self._write(fact, ZERO, -cost - taken, row.location, CORRECTION)

    def _empty(self) -> None:
        self.state.short, self.state.layers = [], []


class _Average(_Costing):
    """One moving weighted average, carried unrounded: value / quantity."""

    def _shelve(self, quantity: Decimal, value: Decimal) -> None:
        """Nothing to keep: quantity and value of the whole shelf say it all."""

    def _newest_cost(self) -> Decimal:
        return self.state.value / self.state.quantity

    def _found(self, quantity: Decimal, unit_cost: Decimal) -> Decimal:
        return round4(quantity * unit_cost)

    def _unshelve(self, quantity: Decimal) -> Decimal:
        state = self.state
        average = state.value / state.quantity
        if quantity == state.quantity:
            state.last_cost = average
            return state.value
        return round4(quantity * average)


class _Fifo(_Costing):
    """A queue of layers, the oldest used first."""

    def _shelve(self, quantity: Decimal, value: Decimal) -> None:
        self.state.layers.append(Lot(quantity, value))

    def _newest_cost(self) -> Decimal:
        return self.state.layers[-1].unit_cost

    def _found(self, quantity: Decimal, unit_cost: Decimal) -> Decimal:
        value = round4(quantity * unit_cost)
        self.state.layers.append(Lot(quantity, value))
        return value

    def _unshelve(self, quantity: Decimal) -> Decimal:
        cost = ZERO
        while quantity > 0:
            lot = self.state.layers[0]
            part = min(quantity, lot.quantity)
            self.state.last_cost = lot.unit_cost
            cost += lot.take(part)
            quantity -= part
            if lot.quantity == 0:
                self.state.layers.pop(0)
        return cost
