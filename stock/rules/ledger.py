"""How the facts of one item become rows of its ledger, whatever the method of costing. Pure, on plain values.

The shelf is right and the book is wrong: a use may take the book below zero; the short units are booked at
the last known cost, and the receipt that covers them corrects it.
"""

from decimal import Decimal
from fractions import Fraction

from practice.lib.errors import RuleBroken
from stock.rules.facts import (
    CORRECTION,
    COUNT,
    IN_THE_LEDGER,
    RECEIPT,
    REVERSAL,
    TRANSFER,
    USE,
    VISIT_RETURN,
    ZERO,
    CostingState,
    Fact,
    LedgerRow,
    ShortUnits,
    cost_of,
    part_of,
)


class Costing:
    """What both methods share: what each kind of fact does to the shelf, and the rows that it writes.

    A method says what units cost that leave the shelf (`_unshelve`), what becomes of those that come in
    (`_shelve`), and what the newest units cost (`_newest_cost`).
    """

    def __init__(self, state: CostingState, rows: list[LedgerRow], warnings: list[str]):
        self.state, self.rows, self.warnings = state, rows, warnings

    def add(self, fact: Fact) -> None:
        if fact.kind == COUNT:
            self._count(fact)
        elif fact.kind == TRANSFER:
            self._write(fact, -fact.quantity, ZERO, fact.location)
            self._write(fact, fact.quantity, ZERO, fact.to_location)
        elif fact.kind == REVERSAL:
            self._undo(fact)
        elif fact.kind == RECEIPT:
            unit_cost = Fraction(fact.unit_cost)
            self._come_in(fact, fact.quantity, cost_of(fact.quantity, unit_cost), unit_cost)
            self.state.known, self.state.last_cost = True, unit_cost
        elif fact.kind == VISIT_RETURN:
            cost = self._cost_of_return(fact)
            self._come_in(fact, fact.quantity, cost, Fraction(cost) / Fraction(fact.quantity))
        else:
            cost = self._take(fact.quantity, fact.job)
            if fact.kind == USE:
                self._charge(fact.job, fact.quantity, cost)
            self._write(fact, -fact.quantity, -cost, fact.location)
        self.state.begun = True

    def _write(self, fact: Fact, quantity: Decimal, cost: Decimal, location, kind: str = "") -> None:
        state = self.state
        state.quantity += quantity
        state.value += cost
        state.at[location] = state.at.get(location, ZERO) + quantity
        kind = kind or IN_THE_LEDGER.get(fact.kind, fact.kind)
        self.rows.append(LedgerRow(fact.key, kind, quantity, cost, location, state.quantity, state.value))

    def _charge(self, job: str, quantity: Decimal, cost: Decimal) -> None:
        """Add to what is out at a job."""
        used, spent = self.state.jobs.get(job, (ZERO, ZERO))
        self.state.jobs[job] = (used + quantity, spent + cost)

    # What comes in

    def _cost_of_return(self, fact: Fact) -> Decimal:
        used, spent = self.state.jobs.get(fact.job, (ZERO, ZERO))
        if fact.quantity > used:
            raise RuleBroken(
                "return_exceeds_use",
                f"The visit used {used:f} of this before that day, so {fact.quantity:f} cannot come back."
                " Check the quantity and the date.",
            )
        cost = spent if fact.quantity == used else part_of(spent, fact.quantity, used)
        self._charge(fact.job, -fact.quantity, -cost)
        return cost

    def _come_in(
        self, fact: Fact, quantity: Decimal, cost: Decimal, unit_cost: Fraction, location=None, kind: str = ""
    ) -> None:
        """Bring units in; they cover what is short first, and the rest goes on the shelf."""
        covered = min(quantity, max(-self.state.quantity, ZERO))
        self._write(fact, quantity, cost, location or fact.location, kind)
        if covered:
            self._cover(fact, covered, unit_cost)
            self.state.last_cost = unit_cost
        if quantity > covered:
            self._shelve(quantity - covered, unit_cost)

    def _cover(self, fact: Fact, covered: Decimal, unit_cost: Fraction) -> None:
        """Cost the short units that came in, oldest first, at what they turned out to cost.

        Each job gets its part of the correction; the parts add up to the whole, rounded once.
        """
        state, moved, done = self.state, ZERO, ZERO
        while done < covered:
            short = state.short[0]
            part = min(covered - done, short.quantity)
            more = cost_of(done + part, unit_cost) - cost_of(done, unit_cost) - short.take(part)
            done += part
            if state.quantity == 0 and done == covered:
                more = state.value - moved
            moved += more
            if short.job in state.jobs:
                self._charge(short.job, ZERO, more)
            if short.quantity == 0:
                state.short.pop(0)
        if moved:
            self._write(fact, ZERO, -moved, fact.location, CORRECTION)

    # What goes out

    def _take(self, quantity: Decimal, job: str = "") -> Decimal:
        """Return what units that leave the shelf cost: those on hand by the method, those short as known."""
        on_hand = max(self.state.quantity, ZERO)
        cost = self._unshelve(min(quantity, on_hand)) if on_hand else ZERO
        missing = quantity - on_hand
        if missing > 0:
            if not self.state.known:
                self.warnings.append(
                    "used before anything was received: costed at 0 until a delivery covers it"
                )
            booked = cost_of(missing, self.state.last_cost)
            self.state.short.append(ShortUnits(missing, booked, job))
            cost += booked
        return cost

    # What was counted

    def _count(self, fact: Fact) -> None:
        state = self.state
        difference = fact.quantity - state.at.get(fact.location, ZERO)
        before, after = state.quantity, state.quantity + difference
        if not state.begun or (state.opened == fact.date and fact.location not in state.at):
            cost = self._open(fact)
        elif not state.known:
            cost = self._count_of_unknown(fact, after)
        elif after == 0:
            cost = -state.value
            if before > 0:
                state.last_cost = self._newest_cost()
            self._empty()
        elif before < 0:
            cost = self._settle_short(difference, after)
        elif difference < 0:
            cost = -self._take(-difference)
        else:
            unit_cost = self._newest_cost() if before > 0 else state.last_cost
            cost = cost_of(difference, unit_cost)
            self._shelve(difference, unit_cost)
        self._write(fact, difference, cost, fact.location)

    def _open(self, fact: Fact) -> Decimal:
        """Opening stock of a location, at the cost typed with it, else at that of another location."""
        state = self.state
        state.opened = fact.date
        unit_cost = (
            self._typed_cost(fact) if fact.unit_cost is not None or not state.known else state.last_cost
        )
        self._shelve(fact.quantity, unit_cost)
        state.last_cost = unit_cost
        return cost_of(fact.quantity, unit_cost)

    def _count_of_unknown(self, fact: Fact, after: Decimal) -> Decimal:
        """A count of an item that was never received sets its value, at the cost typed with it."""
        state, unit_cost = self.state, self._typed_cost(fact)
        value = cost_of(after, unit_cost)
        self._start_again(after, value, unit_cost)
        state.last_cost = unit_cost
        return value - state.value

    def _typed_cost(self, fact: Fact) -> Fraction:
        if fact.unit_cost is None:
            if fact.quantity:
                self.warnings.append("counted before any cost was known: valued at 0")
            return Fraction(0)
        self.state.known = True
        return Fraction(fact.unit_cost)

    def _settle_short(self, difference: Decimal, after: Decimal) -> Decimal:
        """A count of an item below zero settles the short units for good, at value / quantity."""
        state = self.state
        average = Fraction(state.value) / Fraction(state.quantity)
        cost = cost_of(difference, average)
        self._start_again(after, state.value + cost, average)
        return cost

    def _start_again(self, after: Decimal, value: Decimal, unit_cost: Fraction) -> None:
        """Drop all layers and short units: what is there now is one layer of this value."""
        self._empty()
        if after > 0:
            self._shelve(after, unit_cost)
        elif after < 0:
            self.state.short = [ShortUnits(-after, -value)]

    def _empty(self) -> None:
        self.state.short, self.state.layers = [], []

    # What is undone late

    def _undo(self, fact: Fact) -> None:
        """Undo a fact of closed years, at the cost that it had; what does not fit is corrected."""
        moved = [row for row in self.rows if row.fact == fact.reverses and row.kind != CORRECTION]
        if not moved:
            raise ValueError(f"The fact {fact.reverses} that {fact.key} undoes is not among the facts.")
        if len(moved) == 2:  # a transfer: back to where it came from
            for row in moved:
                self._write(fact, -row.quantity, ZERO, row.location, row.kind)
            return
        [row] = moved
        quantity, cost = -row.quantity, -row.cost
        if fact.job:
            self._charge(fact.job, -quantity, -cost)
        if quantity > 0:
            self._come_in(fact, quantity, cost, Fraction(cost) / Fraction(quantity), row.location, row.kind)
            return
        taken = self._take(-quantity) if quantity else ZERO
        self._write(fact, quantity, cost, row.location, row.kind)
        if -cost != taken:
            self._write(fact, ZERO, -cost - taken, row.location, CORRECTION)
