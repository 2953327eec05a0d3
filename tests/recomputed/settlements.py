"""Which payment settles which invoice, worked out a second time from a book's CSV files alone.

Whole minor units and nothing of the program: a second reading of the rules. It knows books in which
nothing is closed for good, no payment names a visit, and no check that bounced names its payment.
"""

from collections import defaultdict
from pathlib import Path

from tests.recomputed.invoices import in_cents, rows_of, written


def expected_settlements(folder: Path) -> list[tuple[str, str, str, str]]:
    """Return (date, payment, invoice, amount) of the whole book, sorted; below zero: freed or taken back."""
    found = []
    for client in rows_of(folder, "clients.csv"):
        found += Account(folder, client["ref"]).rows()
    return sorted((on, payment, number, written(part)) for (on, payment, number), part in found if part)


class Account:
    """One client's invoices, credit notes and payments, gone through day by day."""

    def __init__(self, folder: Path, client: str):
        bills = [row for row in rows_of(folder, "invoices.csv") if row["client"] == client]
        bills.sort(key=lambda row: (row["issued"], row["number"]))
        self.numbers = [row["number"] for row in bills]
        self.issued = {row["number"]: row["issued"] for row in bills}
        self.total = {row["number"]: in_cents(row["total"]) for row in bills}
        self.notes = [row for row in rows_of(folder, "credit_notes.csv") if row["invoice"] in self.total]
        paid = [row for row in rows_of(folder, "payments.csv") if row["client"] == client]
        paid.sort(key=lambda row: row["date"])  # of one day as they were entered
        self.paid = {row["ref"]: row for row in paid}
        self.worth = {row["ref"]: in_cents(row["amount"]) - in_cents(row["tip"] or "0") for row in paid}
        self.owed, self.free = dict.fromkeys(self.numbers, 0), {}
        self.parts: list[list] = []  # [date, payment, invoice, what is left of it, is by hand], as they came
        self.written: dict[tuple[str, str, str], int] = defaultdict(int)
        self.by_hand = self.set_aside()

    def set_aside(self) -> list[list]:
        """Return [date, payment, invoice, amount] of what payments name, at most the invoice's total."""
        room, rows = dict(self.total), []
        for ref, row in self.paid.items():
            number, worth = row["invoice"], self.worth[ref]
            if not number:
                continue
            if worth < 0:
                for part in rows:
                    if part[2] == number and part[0] <= row["date"]:
                        again = min(part[3], -worth, self.total[number] - room[number])
                        room[number], worth = room[number] + again, worth + again
            elif part := min(worth, room[number]):
                room[number] -= part
                rows.append([max(row["date"], self.issued[number]), ref, number, part])
        return rows

    def rows(self):
        days = {*self.issued.values(), *(row["issued"] for row in self.notes), *(r[0] for r in self.by_hand)}
        for day in sorted(days | {row["date"] for row in self.paid.values()}):
            self.live(day)
        return self.written.items()

    def live(self, day: str) -> None:
        """Invoices, credit notes, the use of credit, payments, refunds."""
        for number in self.numbers:
            if self.issued[number] == day:
                self.owed[number] = self.total[number]
        notes = [row for row in self.notes if row["issued"] == day]
        for row in notes:
            self.owed[row["invoice"]] -= in_cents(row["total"])
        today = [ref for ref, row in self.paid.items() if row["date"] == day]
        before = list(self.free)
        for ref in today:
            if self.worth[ref] > 0:
                self.free[ref] = self.worth[ref] - sum(row[3] for row in self.by_hand if row[1] == ref)
        for row in [row for row in self.by_hand if row[0] == day]:
            self.by_hand.remove(row)
            _, ref, number, part = row
            taken = min(part, self.open(number))
            self.settle(day, ref, number, taken, by_hand=True)
            self.free[ref] += part - taken
        for number in dict.fromkeys(number for number in self.numbers if notes):
            self.set_free(day, number)
        self.use(day, before)
        for ref in today:
            if self.worth[ref] > 0:
                self.use(day, [ref])
        for ref in today:
            if self.worth[ref] < 0:
                self.give_back(day, ref)

    def settled(self, number: str) -> int:
        return sum(part[3] for part in self.parts if part[2] == number)

    def open(self, number: str) -> int:
        return max(self.owed[number] - self.settled(number), 0)

    def settle(self, day: str, ref: str, number: str, part: int, by_hand: bool = False) -> None:
        self.parts.append([day, ref, number, part, by_hand])
        self.written[day, ref, number] += part

    def use(self, day: str, refs: list[str]) -> None:
        for number in self.numbers:
            kept = sum(row[3] for row in self.by_hand if row[2] == number)
            for ref in refs:
                part = min(self.open(number) - kept, self.free[ref])
                if part > 0:
                    self.settle(day, ref, number, part)
                    self.free[ref] -= part

    def last_parts(self, number: str) -> list[list]:
        """Return what settled an invoice, the last first, of one day what was chosen by hand last."""
        of_it = [part for part in self.parts if part[2] == number]
        return sorted(of_it, key=lambda part: (part[0], not part[4]))[::-1]

    def set_free(self, day: str, number: str) -> None:
        over = self.settled(number) - self.owed[number]
        for part in self.last_parts(number):
            taken = min(part[3], max(over, 0))
            part[3], over = part[3] - taken, over - taken
            self.written[day, part[1], number] -= taken
            self.free[part[1]] += taken

    def give_back(self, day: str, ref: str) -> None:
        need = -self.worth[ref]
        if named := self.paid[ref]["invoice"]:
            need -= self.reopen(day, ref, named, need)
        for other in self.free:
            taken = min(need, self.free[other])
            self.free[other], need = self.free[other] - taken, need - taken
        while need and (settled := [number for number in self.numbers if self.settled(number)]):
            last = {n: max(p[0] for p in self.parts if p[2] == n) for n in settled}
            latest = max(settled, key=lambda n: (last[n], self.issued[n], n))
            need -= self.reopen(day, ref, latest, need)
        self.use(day, list(self.free))

    def reopen(self, day: str, ref: str, number: str, need: int) -> int:
        taken = min(need, self.settled(number))
        self.written[day, ref, number] -= taken
        left = taken
        for part in [part for part in self.parts if part[2] == number][::-1]:
            part[3], left = part[3] - min(left, part[3]), left - min(left, part[3])
        return taken
