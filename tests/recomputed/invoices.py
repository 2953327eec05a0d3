"""Every invoice and credit note of a book, worked out a second time from its CSV files alone.

Whole minor units and fractions, no decimals and nothing of the program: a second reading of the rules.
It knows books without typed-late lines: each client's lines of a day (or month) are on one invoice; and
drives without readings of their own, which stand in order of entry.
"""

import csv
from calendar import monthrange
from collections import defaultdict
from datetime import date
from fractions import Fraction
from pathlib import Path

CENT = 100


def rows_of(folder: Path, name: str) -> list[dict[str, str]]:
    with (folder / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def half_away(amount: Fraction) -> int:
    sign = -1 if amount < 0 else 1
    return sign * int(abs(amount) + Fraction(1, 2))


def shared_out(units: int, weights: list[Fraction]) -> list[int]:
    exact = [units * weight / sum(weights) for weight in weights]
    parts = [int(part) for part in exact]
    order = sorted(range(len(parts)), key=lambda i: (parts[i] - exact[i], i))
    for i in order[: units - sum(parts)]:
        parts[i] += 1
    return parts


class Book:
    """The files that decide what is billed."""

    def __init__(self, folder: Path):
        names = "clients places horses owners items services prices tax_rates visits work materials legs"
        for name in names.split():
            setattr(self, name, rows_of(folder, f"{name}.csv"))
        self.bill_to = rows_of(folder, "bill_to.csv") if (folder / "bill_to.csv").exists() else []
        self.charges = rows_of(folder, "charges.csv") if (folder / "charges.csv").exists() else []
        self.practice = rows_of(folder, "practice.csv")[0]
        self.client = {row["ref"]: row for row in self.clients}
        self.place = {row["ref"]: row for row in self.places}
        self.item = {row["ref"]: row for row in self.items}
        self.service = {row["ref"]: row for row in self.services}
        self.work_of, self.materials_of, self.legs_of = (defaultdict(list) for _ in range(3))
        for table, by_visit in (
            (self.work, self.work_of),
            (self.materials, self.materials_of),
            (self.legs, self.legs_of),
        ):
            for row in table:
                by_visit[row["visit"]].append(row)

    def price(self, column: str, ref: str, day: str, horse: str = "", place: str = "") -> Fraction | None:
        payers = {who for who, _ in self.payers(horse, ref if column == "service" else "", day)}
        dated = [row for row in self.prices if row[column] == ref and row["from"] <= day]
        dated.sort(key=lambda row: row["from"])
        found = {}
        for row in dated:
            special = [name for name in ("horse", "client", "place") if row.get(name)]
            found["".join(special), row.get("horse") or row.get("client") or row.get("place") or ""] = row
        alone = payers.pop() if len(payers) == 1 else None
        for key in (("horse", horse), ("client", alone), ("place", place), ("", "")):
            if key in found:
                return Fraction(found[key]["price"])
        standing = self.item[ref]["sale_price"] if column == "item" else ""
        return Fraction(standing) if standing else None

    def owners_on(self, horse: str, day: str) -> list[tuple[str, Fraction]]:
        return [
            (row["client"], Fraction(row["share"]))
            for row in self.owners
            if row["horse"] == horse and (row["from"] or "0000") <= day <= (row["to"] or "9999")
        ]

    def payers(self, horse: str, service: str, day: str) -> list[tuple[str, Fraction]]:
        """Who pays: the last begun row for the service, else the last for everything, else the owners."""
        best = None
        for number, row in enumerate(self.bill_to):
            is_in_force = (row["from"] or "0000") <= day <= (row["to"] or "9999")
            if is_in_force and row["horse"] == horse and row["service"] in ("", service):
                best = max(best or (), (bool(row["service"]), row["from"], number, row["client"]))
        return [(best[3], Fraction(100))] if best else self.owners_on(horse, day)

    def taxes_on(self, area: str, day: str) -> tuple[tuple[str, str, str], ...]:
        """Return (name, rate, area) of the rates in force, in file order."""
        found = []
        for row in self.tax_rates:
            later = [
                other["from"]
                for other in self.tax_rates
                if (other["name"], other["area"]) == (row["name"], row["area"])
                and other["from"] > row["from"]
            ]
            in_force = (
                row["from"] <= day
                and (not row["to"] or day <= row["to"])
                and not any(f <= day for f in later)
            )
            if in_force and row["area"] in ("", area):
                found.append((row["name"], row["rate"], row["area"]))
        return tuple(found)


def bill(book: Book, visit: dict[str, str]) -> list[tuple[str, int, tuple, bool]] | str:
    """Return the parts of a visit, or why it is held back.

    Each part: client, minor units, taxes, and whether it is of a service or material.
    """
    day, place = visit["date"], book.place[visit["place"]]
    if not book.work_of[visit["ref"]]:
        return []
    lines = []
    for work in book.work_of[visit["ref"]]:
        horse, service = work["horse"], work["service"]
        price = book.price("service", service, day, horse, visit["place"])
        price = Fraction(work["price"]) if work["price"] else price
        if price is None:
            return "no_price"
        taxable = book.service[service]["taxable"] == "yes"
        lines.append((horse, service, half_away(CENT * price * Fraction(work["quantity"])), taxable, True))
    for use in book.materials_of[visit["ref"]]:
        horse, item = use["horse"], use["item"]
        price = book.price("item", item, day, horse, visit["place"])
        price = Fraction(use["price"]) if use["price"] else price
        if price is not None:
            taxable = book.item[item]["taxable"] == "yes"
            lines.append((horse, "", half_away(CENT * price * Fraction(use["quantity"])), taxable, True))
    if any(not book.payers(horse, service, day) for horse, service, *_ in lines):
        return "no_owner"
    horses = list(dict.fromkeys(work["horse"] for work in book.work_of[visit["ref"]]))
    charge = travel(book, visit, place)
    if charge and not all(book.payers(horse, "", day) for horse in horses):
        return "no_owner"
    if isinstance(charge, str):
        return charge if horses else []
    taxed = book.practice["travel_taxable"] == "yes"
    whole = charge + sum(units for _, _, units, _, _ in lines)
    least = half_away(CENT * Fraction(book.practice.get("minimum_call") or 0))
    short = least - whole if 0 < whole < least else 0
    if short and not all(book.payers(horse, "", day) for horse in horses):
        return "no_owner"
    for amount in (charge, short):
        parts = shared_out(amount, [Fraction(1)] * len(horses))
        lines += [(horse, "", part, taxed, False) for horse, part in zip(horses, parts, strict=True) if part]
    result = []
    for horse, service, units, taxable, reduced in lines:
        payers = book.payers(horse, service, day)
        taxes = book.taxes_on(place["area"], day) if taxable else ()
        for (client, _), part in zip(payers, shared_out(units, [share for _, share in payers]), strict=True):
            result.append((client, part, taxes, reduced))
    return result


def travel(book: Book, visit: dict[str, str], place: dict[str, str]) -> int | str:
    rule = book.practice["travel_rule"]
    rate = Fraction(place["travel_rate"] or book.practice["travel_rate"] or 0)
    if rule == "none" or rate == 0:
        return 0
    if rule == "per_visit":
        return half_away(CENT * rate)
    legs = book.legs_of[visit["ref"]]
    if not legs:
        return "no_reach"
    tenths = sum(in_tenths(leg) for leg in legs)
    for day in {(leg["vehicle"], leg["date"]) for leg in legs} if rule == "round_trip" else ():
        of_day = [leg for leg in book.legs if (leg["vehicle"], leg["date"]) == day]
        if of_day[-1]["visit"]:
            return "no_reach"
        tenths += part_back(of_day, visit["ref"])
    return half_away(CENT * rate * Fraction(tenths, 10))


def in_tenths(leg: dict[str, str]) -> int:
    return int(10 * Fraction(leg["distance"]))


def part_back(legs: list[dict[str, str]], visit: str) -> int:
    """Return a visit's part, in tenths, of a day's business drives that reach no visit."""
    reached = list(dict.fromkeys(leg["visit"] for leg in legs if leg["visit"]))
    reaches = [Fraction(sum(in_tenths(leg) for leg in legs if leg["visit"] == ref)) for ref in reached]
    back = sum(in_tenths(leg) for leg in legs if not leg["visit"] and leg["purpose"] == "business")
    parts = shared_out(back, reaches if any(reaches) else [Fraction(1)] * len(reached))
    return parts[reached.index(visit)]


def tax_of(parts: list[tuple[int, tuple]]) -> int:
    bases = defaultdict(int)
    for units, taxes in parts:
        if taxes:
            bases[taxes] += units
    return sum(
        half_away(base * sum(Fraction(rate) for _, rate, _ in taxes) / 100) for taxes, base in bases.items()
    )


def expected_invoices(folder: Path, through: str) -> list[tuple[str, str, str, int, int]]:
    """Return (number, client, date, net, tax) of what closing every day up to `through` issues."""
    book = Book(folder)
    invoices, waiting = defaultdict(list), defaultdict(list)
    for visit in book.visits:
        if visit["status"] != "done" or visit["billed"] == "yes":
            continue
        parts = bill(book, visit)
        for client, *part in parts if isinstance(parts, list) else []:
            on = invoice_day(book, client, visit["date"])
            if on <= through:
                invoices[on, client].append(part)
    for number, charge in enumerate(book.charges):
        on, units, taxes = charged(book, charge)
        if units < 0:
            waiting[charge["client"]].append((number, on, units, taxes))
        elif on <= through:
            invoices[on, charge["client"]].append((units, taxes, False))
    order = {row["ref"]: number for number, row in enumerate(book.clients)}
    drawn, result = defaultdict(int), []
    for (on, client), parts in sorted(invoices.items(), key=lambda entry: (entry[0][0], order[entry[0][1]])):
        lines = [(units, taxes) for units, taxes, _ in parts]
        lines += taken_off(parts, Fraction(book.client[client].get("discount") or 0))
        below = waiting[client]
        begun = [row for row in below if row[1] <= on]
        while begun and not holds(lines + [row[2:] for row in begun]):
            begun.remove(last_too_much(lines + [row[2:] for row in begun], begun))
        lines += [row[2:] for row in begun]
        waiting[client] = [row for row in below if row not in begun]
        if not any(units for units, _ in lines):
            continue
        drawn[on[:4]] += 1
        exempt = book.client[client]["tax_exempt"] == "yes"
        number = f"{book.practice['invoice_prefix']}-{on[:4]}-{drawn[on[:4]]:04d}"
        tax = 0 if exempt else tax_of(lines)
        result.append((number, client, on, sum(units for units, _ in lines), tax))
    return result


def in_cents(text: str) -> int:
    return int(Fraction(text) * CENT)


def written(cents: int) -> str:
    return f"{'-' if cents < 0 else ''}{abs(cents) // CENT}.{abs(cents) % CENT:02d}"


def expected_credits(folder: Path) -> list[tuple[str, str, str, str, str]]:
    """Return (number, invoice, net, tax, total) of each credit note, from the lines that it names.

    A discount is not named: it goes with what is credited of its lines.
    """
    lines, taken = defaultdict(list), defaultdict(list)
    for row in rows_of(folder, "invoice_lines.csv"):
        lines[row["invoice"]].append(row)
    for row in rows_of(folder, "credit_note_lines.csv"):
        taken[row["credit_note"]].append((int(row["line"]), in_cents(row["net"])))
    exempt = {row["number"] for row in rows_of(folder, "invoices.csv") if not Fraction(row["tax"])}
    so_far: dict[str, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    net_taken, tax_taken, found = defaultdict(int), defaultdict(int), []
    for note in rows_of(folder, "credit_notes.csv"):
        invoice = note["invoice"]
        for number, cents in taken[note["number"]]:
            if lines[invoice][number - 1]["kind"] != "discount":
                so_far[invoice][number] += cents
                assert 0 < Fraction(so_far[invoice][number], in_cents(lines[invoice][number - 1]["net"])) <= 1
        take_discounts_along(lines[invoice], so_far[invoice])
        net = sum(so_far[invoice].values()) - net_taken[invoice]
        net_taken[invoice] += net
        tax = 0 if invoice in exempt else tax_credited(lines[invoice], so_far[invoice]) - tax_taken[invoice]
        tax_taken[invoice] += tax
        found.append((note["number"], invoice, *map(written, (net, tax, net + tax))))
    return found


def take_discounts_along(lines: list[dict[str, str]], credited: dict[int, int]) -> None:
    """Work out what is credited of each discount so far: as much of it as of the lines that it reduced."""
    for number, line in enumerate(lines, start=1):
        if line["kind"] == "discount":
            reduced = {
                other: in_cents(row["net"])
                for other, row in enumerate(lines, start=1)
                if row["kind"] in ("service", "material")
                and all(row[name] == line[name] for name in ("tax_names", "tax_rates", "tax_areas"))
            }
            part = Fraction(sum(credited.get(other, 0) for other in reduced), sum(reduced.values()))
            credited[number] = half_away(in_cents(line["net"]) * part)


def tax_credited(lines: list[dict[str, str]], credited: dict[int, int]) -> int:
    """Return the tax of all that is credited, each set of the same names, rates and areas rounded once."""
    bases = defaultdict(int)
    for number, line in enumerate(lines, start=1):
        if line["tax_names"]:
            bases[line["tax_names"], line["tax_rates"], line["tax_areas"]] += credited.get(number, 0)
    return sum(
        half_away(base * sum(map(Fraction, rates.split(";"))) / 100) for (_, rates, _), base in bases.items()
    )


def invoice_day(book: Book, client: str, on: str) -> str:
    if book.client[client]["billing"] != "monthly":
        return on
    day = date.fromisoformat(on)
    return day.replace(day=monthrange(day.year, day.month)[1]).isoformat()


def charged(book: Book, charge: dict[str, str]) -> tuple[str, int, tuple]:
    """Return the day of a charge's invoice, its minor units, and its taxes."""
    units = half_away(CENT * Fraction(charge["unit_price"]) * Fraction(charge["quantity"]))
    place = next((visit["place"] for visit in book.visits if visit["ref"] == charge["visit"]), None)
    area = book.place[place]["area"] if place else ""
    taxes = book.taxes_on(area, charge["date"]) if charge["taxable"] == "yes" else ()
    return invoice_day(book, charge["client"], charge["date"]), units, taxes


def taken_off(parts: list, percent: Fraction) -> list[tuple[int, tuple]]:
    """Return what a discount takes off the services and materials of each set of rates."""
    bases = defaultdict(int)
    for units, taxes, reduced in parts:
        if reduced:
            bases[taxes] += units
    return [(-half_away(base * percent / 100), taxes) for taxes, base in bases.items()]


def bases_below_zero(lines: list[tuple[int, tuple]]) -> set[tuple]:
    bases = defaultdict(int)
    for units, taxes in lines:
        bases[taxes] += units
    return {taxes for taxes, base in bases.items() if taxes and base < 0}


def holds(lines: list[tuple[int, tuple]]) -> bool:
    return not bases_below_zero(lines) and sum(units for units, _ in lines) >= 0


def last_too_much(lines: list[tuple[int, tuple]], begun: list) -> tuple:
    """Return the charge entered last of a base below zero, else of all."""
    low = bases_below_zero(lines)
    return [row for row in begun if row[3] in low or not low][-1]
