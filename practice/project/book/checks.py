"""The rules that rows of a folder have to keep, together with what the book holds already."""

from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation

from billing.actions.payments import check_payment
from billing.models import InvoiceLine
from billing.rules.totals import Tax, totals
from practice.lib.countries import country_of
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Leg, MaterialReturn, MaterialUse, Owner, Reading
from practice.project.book.columns import PRACTICE
from practice.project.book.lookup import Lookup, SortedRows
from practice.project.book.orders import check_orders
from practice.project.book.reader import Folder, FolderRow
from practice.project.book.road import check_road
from stock.models import Movement, MovementKind, OrderLine

# Files whose rows are dated, and the column that says when; those of a visit by the visit's day.
DATED = {
    "visits.csv": "date",
    "readings.csv": "date",
    "legs.csv": "date",
    "leg_changes.csv": "date",
    "odometers.csv": "date",
    "orders.csv": "date",
    "valuations.csv": "from",
    "purchases.csv": "date",
    "counts.csv": "date",
    "stock_facts.csv": "date",
    "invoices.csv": "issued",
    "payments.csv": "date",
    "expenses.csv": "date",
    "estimated_payments.csv": "date",
    "mileage_rates.csv": "from",
}
OF_A_VISIT = ("work.csv", "materials.csv", "findings.csv")


def fill_in(folder: Folder) -> None:
    """Work out the defaults that depend on other columns: the mileage scheme and the distance of a leg."""
    for row in folder.rows(PRACTICE):
        if row["mileage_scheme"] is None:
            row.values["mileage_scheme"] = country_of(row["country"]).mileage_scheme.name
    for name in ("legs.csv", "leg_changes.csv"):
        for row in folder.rows(name):
            _leg_distance(folder, row)


def _leg_distance(folder: Folder, row: FolderRow) -> None:
    name, start, end, distance = row.file.name, row["start_odometer"], row["end_odometer"], row["distance"]
    if start is not None and end is not None:
        if end < start:
            folder.complain(name, row.line, "end_odometer", f"{end} is lower than the start, {start}")
        elif distance is not None and distance != end - start:
            folder.complain(
                name, row.line, "distance", f"{distance} is not what the readings say: {end - start}"
            )
        row.values["distance"] = end - start
    elif distance is None and not any(p.file == name and p.line == row.line for p in folder.problems):
        folder.complain(name, row.line, "distance", "is needed where there is no pair of readings")


class Checks:
    """Complains of every new row that breaks a rule."""

    def __init__(self, folder: Folder, lookup: Lookup, sorted_rows: dict[str, SortedRows], profile: Profile):
        self.folder, self.lookup, self.sorted, self.profile = folder, lookup, sorted_rows, profile
        self.visit_rows = {row["ref"]: row for row in folder.rows("visits.csv")}

    def new(self, file: str) -> list[FolderRow]:
        return self.sorted[file].new if file in self.sorted else []

    def touched(self, file: str) -> list[FolderRow]:
        """New rows and changed ones."""
        return self.new(file) + [row for row, _ in self.sorted[file].changed] if file in self.sorted else []

    def complain(self, row: FolderRow, column: str, message: str) -> None:
        self.folder.complain(row.file.name, row.line, column, message)

    def all(self) -> None:
        self.practice()
        self.closed_days()
        self.owners()
        self.prices_and_rates()
        self.items()
        self.locations()
        self.visits()
        self.fixed_visits()
        check_road(self)
        check_orders(self)
        self.stock_facts()
        self.returns()
        self.invoices()
        self.payments()
        self.settlements()
        self.possessions()
        self.receipts()

    # Settings and people

    def practice(self) -> None:
        for row, before in self.sorted[PRACTICE].changed if PRACTICE in self.sorted else ():
            if row["currency"] != before.currency and currency_is_used():
                self.complain(row, "currency", f"the book is kept in {before.currency}; that cannot change")
            if (
                row["distance_unit"] != before.distance_unit
                and Leg.objects.exists() | Reading.objects.exists()
            ):
                message = f"the book is kept in {before.distance_unit}; that cannot change"
                self.complain(row, "distance_unit", message)
            self._method(row, before)

    def _method(self, row: FolderRow, before: Profile) -> None:
        """What was costed in closed days stays: another method begins on a day of its own."""
        through = before.closed_through
        other = "valuation" in row.given and row["valuation"] != before.valuation
        if other and through and Movement.objects.filter(date__lte=through).exists():
            message = (
                f"closed days were costed by {before.valuation}; another method begins after"
                f" {through.isoformat()}, in valuations.csv"
            )
            self.complain(row, "valuation", message)

    def closed_days(self) -> None:
        for name, column in DATED.items():
            for row in self.new(name):
                self.must_be_open(row, column, row[column])
        for name in OF_A_VISIT:
            for row in self.new(name):
                self.must_be_open(row, "visit", self.day_of(row["visit"]))

    def must_be_open(self, row: FolderRow, column: str, day: date | None) -> None:
        """Complain of a row of a day that is closed for good."""
        if day and self.profile.is_closed(day):
            through = self.profile.closed_through.isoformat()
            self.complain(row, column, f"{day.isoformat()} is closed for good (through {through})")

    def day_of(self, visit: str | None) -> date | None:
        known = self.lookup.in_book("visits.csv", visit)
        if known is not None:
            return known.date
        return self.visit_rows[visit]["date"] if visit in self.visit_rows else None

    def status_of(self, visit: str | None) -> str | None:
        known = self.lookup.in_book("visits.csv", visit)
        if known is not None:
            return known.status
        return self.visit_rows[visit]["status"] if visit in self.visit_rows else None

    def owners(self) -> None:
        """On each day on which a horse has owners their shares add up to 100."""
        shares = defaultdict(list)
        for row in self.new("owners.csv"):
            if row["from"] and row["to"] and row["to"] < row["from"]:
                self.complain(row, "to", f"{row['to']} is before {row['from']}")
                continue
            if row["share"] is not None:
                begin, end = row["from"] or date.min, row["to"] or date.max
                shares[row["horse"]].append((begin, end, row["share"], row))
        if not shares:
            return
        for owner in Owner.objects.select_related("horse"):
            if owner.horse.key in shares:
                period = (owner.valid_from or date.min, owner.valid_to or date.max)
                shares[owner.horse.key].append((*period, owner.share, None))
        for horse, periods in shares.items():
            self._shares_of(horse, periods)

    def _shares_of(self, horse: str, periods: list) -> None:
        turns = {begin for begin, *_ in periods}
        turns |= {end + timedelta(days=1) for _, end, *_ in periods if end < date.max}
        for day in sorted(turns):
            in_force = [period for period in periods if period[0] <= day <= period[1]]
            total = sum((share for _, _, share, _ in in_force), Decimal(0))
            if in_force and total != 100:
                rows = [row for *_, row in in_force if row] or [row for *_, row in periods if row]
                since = "" if day == date.min else f" from {day.isoformat()}"
                message = f"the shares in {horse} add up to {total:f}{since}, not to 100"
                self.complain(rows[-1], "share", message)
                return

    def prices_and_rates(self) -> None:
        for row in self.new("prices.csv"):
            if bool(row["service"]) == bool(row["item"]):
                self.complain(row, "service", "a price is of a service or of an item: give one of the two")
        for row in self.new("tax_rates.csv") + self.new("mileage_rates.csv"):
            if row["to"] and row["from"] and row["to"] < row["from"]:
                self.complain(row, "to", f"{row['to']} is before {row['from']}")
        for row in self.new("tax_rates.csv"):
            if ";" in row["name"] or ";" in row["area"]:
                self.complain(row, "name", "a semicolon cannot stand in a tax's name or area")

    def items(self) -> None:
        for row, before in self.sorted["items.csv"].changed if "items.csv" in self.sorted else ():
            used = (
                Movement.objects.filter(item=before).exists()
                or MaterialUse.objects.filter(item=before).exists()
                or OrderLine.objects.filter(item=before).exists()
            )
            if row["unit"] != before.unit and used:
                self.complain(
                    row, "unit", f"{before} is counted in {before.unit}; that cannot change once used"
                )

    def locations(self) -> None:
        taken = {}
        for row in self.folder.rows("locations.csv"):
            if row["vehicle"] and taken.setdefault(row["vehicle"], row) is not row:
                self.complain(row, "vehicle", f'"{row["vehicle"]}" is another location already')
        for row in self.new("locations.csv"):
            vehicle = self.lookup.in_book("vehicles.csv", row["vehicle"])
            if vehicle is not None and vehicle.location_id:
                self.complain(row, "vehicle", f'"{row["vehicle"]}" is another location already')

    # Days

    def visits(self) -> None:
        for row in self.new("visits.csv"):
            if row["billed"] and row["status"] == "planned":
                self.complain(row, "billed", "a visit that is only planned cannot be billed already")
            if row["arrive"] and row["leave"] and row["leave"] < row["arrive"]:
                self.complain(row, "leave", f"{row['leave']:%H:%M} is before {row['arrive']:%H:%M}")

    def fixed_visits(self) -> None:
        """What is billed of a visit that is locked, or was billed before, does not change."""
        for name in ("work.csv", "materials.csv"):
            for row in self.new(name):
                visit = self.lookup.in_book("visits.csv", row["visit"])
                if visit is None or not visit.is_fixed:
                    continue
                item = self.lookup.in_book("items.csv", row["item"]) if name == "materials.csv" else None
                covered = item is not None and row["price"] is None and item.sale_price is None
                if not covered:
                    self.complain(
                        row, "visit", f'"{row["visit"]}" is invoiced; nothing billed is added to it'
                    )

    # Facts of stock

    def stock_facts(self) -> None:
        for row in self.new("stock_facts.csv"):
            kind = row["kind"]
            wanted = {
                "to_location": kind == MovementKind.TRANSFER,
                "visit": kind == MovementKind.VISIT_RETURN,
                "horse": kind == MovementKind.VISIT_RETURN,
                "reverses": kind == MovementKind.REVERSAL,
            }
            for column, needed in wanted.items():
                if needed and not row[column]:
                    self.complain(row, column, f"is needed for a {kind}")
                elif (
                    not needed
                    and row[column]
                    and not (kind == MovementKind.REVERSAL and column != "reverses")
                ):
                    self.complain(row, column, f"does not belong to a {kind}")
            if kind == MovementKind.TRANSFER and row["location"] and row["location"] == row["to_location"]:
                self.complain(row, "to_location", "a transfer goes to another location")

    def returns(self) -> None:
        """No more comes back from a visit than was used there on days before."""
        rows = self.new("stock_facts.csv")
        if not any(row["kind"] == MovementKind.VISIT_RETURN for row in rows):
            return
        used, back, standing = self._used(), defaultdict(Decimal), defaultdict(list)
        for known in MaterialReturn.objects.filter(movement__reversal=None).select_related(
            "visit", "horse", "movement__item", "movement__location"
        ):
            fact = known.movement
            place = fact.location.key if fact.location else None
            job = (known.visit.key, known.horse.key, fact.item.key)
            standing[fact.date, fact.item.key, fact.quantity, place].append(job)
            back[job] += fact.quantity
        for row in rows:
            quantity = row["quantity"] or 0
            same = standing[row["date"], row["item"], quantity, row["location"]]
            if row["kind"] == MovementKind.VISIT_RETURN:
                job = (row["visit"], row["horse"], row["item"])
                same.append(job)
                back[job] += quantity
                self._return(row, back[job], used[job])
            elif row["reverses"] == MovementKind.VISIT_RETURN and same:
                back[same.pop(0)] -= quantity

    def _used(self) -> dict[tuple, Decimal]:
        """Return what done visits used, by visit, horse and item."""
        used = defaultdict(Decimal)
        for use in MaterialUse.objects.filter(movement__isnull=False).select_related(
            "visit", "horse", "item"
        ):
            used[use.visit.key, use.horse.key, use.item.key] += use.quantity
        for use in self.new("materials.csv"):
            if self.status_of(use["visit"]) == "done":
                used[use["visit"], use["horse"], use["item"]] += use["quantity"] or 0
        return used

    def _return(self, row: FolderRow, back: Decimal, used: Decimal) -> None:
        if back > used:
            message = f"{back:f} come back from the visit, where {used:f} were used"
            self.complain(row, "quantity", message)
        day = self.day_of(row["visit"])
        if day and row["date"] and row["date"] <= day:
            self.complain(row, "date", f"a return is dated after its use, on {day.isoformat()}")

    # Billing

    def invoices(self) -> None:
        lines = defaultdict(list)
        for row in self.new("invoice_lines.csv"):
            self._line(row)
            if self.lookup.in_book("invoices.csv", row["invoice"]):
                self.complain(row, "invoice", f'"{row["invoice"]}" is issued and never changes')
            elif row["invoice"]:
                lines[row["invoice"]].append(row)
        for row in self.new("invoices.csv"):
            sums = [row[name] for name in ("net", "tax", "total")]
            if None not in sums and sums[0] + sums[1] != sums[2]:
                self.complain(row, "total", f"{sums[2]:f} is not net {sums[0]:f} plus tax {sums[1]:f}")
            elif row["credit_applied"] is not None and row["credit_applied"] < 0:
                self.complain(row, "credit_applied", "is at least 0")
            elif lines[row["number"]] and None not in sums:
                self._sums(row, lines[row["number"]])

    def _line(self, row: FolderRow) -> None:
        file = {"service": "services.csv", "material": "items.csv"}.get(row["kind"])
        if file and not self._is_somewhere(file, row["code"]):
            self.complain(row, "code", f'"{row["code"]}" is not in {file}')
        elif row["kind"] == InvoiceLine.Kind.TRAVEL and row["code"]:
            self.complain(row, "code", "is blank for travel")
        if taxes_of_row(row) is None:
            self.complain(row, "tax_rates", "names, rates and areas of the taxes do not go together")
        status = self.status_of(row["visit"])
        if status not in (None, "done"):
            self.complain(row, "visit", f'"{row["visit"]}" is {status}; only what is done is billed')

    def _is_somewhere(self, file: str, key: str) -> bool:
        if self.lookup.in_book(file, key) is not None:
            return True
        return any(row["ref"] == key for row in self.folder.rows(file))

    def _sums(self, invoice: FolderRow, lines: list[FolderRow]) -> None:
        taxed = [(line["net"], taxes_of_row(line)) for line in lines]
        if any(net is None or taxes is None for net, taxes in taxed):
            return
        for line in lines:
            if line["client"] != invoice["client"]:
                self.complain(line, "client", f'invoice "{invoice["number"]}" is another client\'s')
        worked = totals(taxed, self.folder.currency)
        if worked.net != invoice["net"]:
            self.complain(
                invoice, "net", f"{invoice['net']:f} is not what its lines add up to: {worked.net:f}"
            )
        elif invoice["tax"] not in (worked.tax, 0):
            self.complain(invoice, "tax", f"{invoice['tax']:f} is not what its lines ask for: {worked.tax:f}")

    def settlements(self) -> None:
        """What is chosen by hand goes to an invoice of the payment's client."""
        payers = {row["ref"]: row["client"] for row in self.folder.rows("payments.csv")}
        clients = {row["number"]: row["client"] for row in self.folder.rows("invoices.csv")}
        for row in self.new("settlements.csv"):
            payment = self.lookup.in_book("payments.csv", row["payment"])
            invoice = self.lookup.in_book("invoices.csv", row["invoice"])
            payer = payment.client.key if payment else payers.get(row["payment"])
            whose = invoice.client.key if invoice else clients.get(row["invoice"])
            if payer and whose and payer != whose:
                self.complain(row, "invoice", f'"{row["invoice"]}" is an invoice of another client')

    def payments(self) -> None:
        clients = {row["number"]: row["client"] for row in self.folder.rows("invoices.csv")}
        for row in self.new("payments.csv"):
            if row["amount"] is None or row["tip"] is None:
                continue
            try:
                check_payment(None, row["amount"], row["tip"], None, self.folder.currency)
            except RuleBroken as error:
                self.complain(row, "tip" if row["tip"] else "amount", str(error))
            invoice = self.lookup.in_book("invoices.csv", row["invoice"])
            whose = invoice.client.key if invoice else clients.get(row["invoice"])
            if row["invoice"] and whose and whose != row["client"]:
                self.complain(row, "invoice", f'"{row["invoice"]}" is an invoice of another client')

    def possessions(self) -> None:
        """What repeats ends after it begins; a tool goes after it came."""
        for row in self.new("repeating_expenses.csv"):
            if row["from"] and row["to"] and row["to"] < row["from"]:
                self.complain(row, "to", f"{row['to']} is before {row['from']}")
        for row in self.new("equipment.csv"):
            came, went = row["placed_in_service"], row["disposed_on"]
            if came and went and went < came:
                self.complain(row, "disposed_on", f"{went} is before {came}")
            if row["disposed_for"] is not None and not went:
                self.complain(row, "disposed_on", "is needed where disposed_for is given")

    def receipts(self) -> None:
        """An expense has one receipt."""
        having = set()
        for row in self.new("files.csv"):
            known = self.lookup.in_book("expenses.csv", row["expense"])
            if row["expense"] in having or (known is not None and known.receipt):
                self.complain(row, "expense", f'"{row["expense"]}" has another receipt')
            having |= {row["expense"]} - {None}


def taxes_of_row(row: FolderRow) -> tuple[Tax, ...] | None:
    """Return the taxes that a line names; None where its three columns do not go together."""
    if not row["tax_names"]:
        return () if not (row["tax_rates"] or row["tax_areas"].strip(";")) else None
    columns = [row[name].split(";") for name in ("tax_names", "tax_rates", "tax_areas")]
    if len({len(column) for column in columns}) != 1:
        return None
    try:
        return tuple(Tax(name, Decimal(rate), area) for name, rate, area in zip(*columns, strict=True))
    except InvalidOperation:
        return None


def currency_is_used() -> bool:
    from billing.models import Equipment, Expense, Invoice, Payment, Price, RepeatingExpense

    of_money = (Price, Invoice, Payment, Expense, RepeatingExpense, Equipment)
    return any(model.objects.exists() for model in (*of_money, Movement, OrderLine))
