"""Writing new and changed rows: settings and people, visits, facts, invoices, payments, then what follows."""

from collections.abc import Callable, Iterable
from datetime import date
from functools import partial

from django.db import transaction
from django.db.models import Model

from billing.actions.payments import resettle_clients
from billing.models import (
    Equipment,
    EstimatedPayment,
    Expense,
    Invoice,
    InvoiceLine,
    MileageRate,
    Pack,
    Payment,
    Price,
    RepeatingExpense,
    Settlement,
    TaxRate,
)
from practice.actions.materials import job_key, use_of
from practice.lib.profile import Profile
from practice.models import (
    Client,
    Finding,
    Horse,
    Leg,
    LegChange,
    MaterialReturn,
    MaterialUse,
    OdometerChange,
    Owner,
    Place,
    Reading,
    Service,
    Vehicle,
    Visit,
    Work,
)
from practice.project.book.columns import PRACTICE
from practice.project.book.files_folder import FILES_CSV, keep_attachment
from practice.project.book.lookup import Lookup, SortedRows
from practice.project.book.orders import lines_delivered, write_orders
from practice.project.book.reader import Folder, FolderRow, own_key
from practice.project.book.road import road_warnings
from practice.project.book.values import RefOf
from stock.actions.movements import LAST, movement_of
from stock.actions.valuing import method_changes, value_items
from stock.models import Found, Item, Location, Movement, MovementKind, Purchase, Supplier, ValuationChange
from stock.rules.facts import RANK

BATCH = 400
RENAMED = {"from": "valid_from", "to": "valid_to"}


class Writer:
    """Writes a folder that passed all checks, inside the caller's transaction."""

    def __init__(self, folder: Folder, lookup: Lookup, sorted_rows: dict[str, SortedRows]):
        self.folder, self.lookup, self.sorted = folder, lookup, sorted_rows
        self.touched_items: set[int] = set()
        self.touched_clients: set[int] = set()
        self.costed_by = costed_by()

    def write(self, progress: Callable[[str], None]) -> list[str]:
        """Write everything; return what the costing warns of."""
        progress("people")
        closed_through = self._practice()
        self._people()
        progress("visits")
        self._visits()
        progress("stock")
        write_orders(self)
        self._facts()
        progress("invoices")
        self._invoices()
        self._payments()
        progress("costs")
        if costed_by() != self.costed_by:
            self.touched_items |= set(Movement.objects.values_list("item", flat=True).distinct())
        warnings = [
            *road_warnings(self.new("legs.csv"), Profile.current()),
            *value_items(self.touched_items),
        ]
        progress("settlements")
        resettle_clients(Client.objects.filter(pk__in=self.touched_clients).order_by("pk"))
        if closed_through is not False:
            Profile.objects.update(closed_through=closed_through)
        return warnings

    # Helpers

    def new(self, file: str) -> list[FolderRow]:
        return self.sorted[file].new if file in self.sorted else []

    def find(self, file: str, key: str | None):
        return self.lookup.objects[file].get(key) if key else None

    def attributes(self, row: FolderRow, leave_out: Iterable[str] = ("ref",)) -> dict:
        """Return a row's values as a model's attributes, refs as the rows that they point to."""
        values = {}
        for column in row.file.columns:
            if column.name in leave_out:
                continue
            value = row[column.name]
            if isinstance(column.kind, RefOf):
                value = self.find(column.kind.file, value)
            values[RENAMED.get(column.name, column.name)] = value
        return values

    def add(self, file: str, model: type[Model], leave_out: Iterable[str] = ("ref",), **more) -> list:
        """Write a file's new rows in their order; remember them by their ref."""
        rows = self.new(file)
        objects = [model(**self.attributes(row, leave_out), **own_key(row), **more) for row in rows]
        model.objects.bulk_create(objects, batch_size=BATCH)
        if file in self.lookup.objects:
            for row, written in zip(rows, objects, strict=True):
                self.lookup.objects[file][row["ref"]] = written
        return objects

    def change(self, file: str, leave_out: Iterable[str] = ("ref",)) -> None:
        """Write a file's changed rows: the columns given, and no other."""
        for row, before in self.sorted[file].changed if file in self.sorted else ():
            absent = [name for name in row.file.by_name if name not in row.given]
            for name, value in self.attributes(row, [*leave_out, *absent]).items():
                setattr(before, name, value)
            before.save()

    # Settings and people

    def _practice(self) -> date | None | bool:
        """Write the practice; return its `closed_through` for the end, False where it stays."""
        closed: date | None | bool = False
        for row in self.new(PRACTICE):
            Profile.objects.create(**self.attributes(row, ["closed_through"]))
            closed = row["closed_through"]
        for row, before in self.sorted[PRACTICE].changed if PRACTICE in self.sorted else ():
            if "closed_through" in row.given:
                closed = row["closed_through"]
            absent = [name for name in row.file.by_name if name not in row.given]
            for name, value in self.attributes(row, ["closed_through", *absent]).items():
                setattr(before, name, value)
            before.save()
        return closed

    def _people(self) -> None:
        for file, model in (
            ("clients.csv", Client),
            ("places.csv", Place),
            ("horses.csv", Horse),
            ("suppliers.csv", Supplier),
            ("items.csv", Item),
            ("services.csv", Service),
            ("vehicles.csv", Vehicle),
        ):
            self.add(file, model)
            self.change(file)
        self.add("owners.csv", Owner)
        self.add("prices.csv", Price)
        self.add("tax_rates.csv", TaxRate)
        self._mileage_rates()
        for row, location in zip(
            self.new("locations.csv"), self.add("locations.csv", Location, ["ref", "vehicle"]), strict=True
        ):
            if vehicle := self.find("vehicles.csv", row["vehicle"]):
                vehicle.location = location
                vehicle.save(update_fields=["location"])

    def _mileage_rates(self) -> None:
        """Write the practice's own mileage rates; one that the program knows takes the place of that."""
        for row in self.new("mileage_rates.csv"):
            values = self.attributes(row)
            key = {name: values.pop(name) for name in ("scheme", "valid_from", "tier_from")}
            own = {"from_program": False, "certainty": ""}
            MileageRate.objects.update_or_create(**key, defaults=values | own)

    # Days

    def _visits(self) -> None:
        self.add("visits.csv", Visit)
        self.add("work.csv", Work)
        self._materials()
        self.add("findings.csv", Finding)
        self.add("readings.csv", Reading)
        self._legs()
        self.add("leg_changes.csv", LegChange)
        self.add("odometers.csv", OdometerChange)

    def _legs(self) -> None:
        rows = self.new("legs.csv")
        named = [{"uuid": row["uuid"]} if row["uuid"] else {} for row in rows]
        legs = [Leg(**self.attributes(row, ["uuid"]), **name) for row, name in zip(rows, named, strict=True)]
        Leg.objects.bulk_create(legs, batch_size=BATCH)

    # Facts of stock

    def _materials(self) -> None:
        """Write down what visits took; what done ones took leaves the shelf."""
        rows = self.new("materials.csv")
        uses = [MaterialUse(**self.attributes(row, ["ref", "location"])) for row in rows]
        done, facts = [], []
        for row, use in zip(rows, uses, strict=True):
            if use.visit.status == Visit.Status.DONE:
                done.append(use)
                fact = movement_of(use_of(use, use.visit))
                fact.location = self.find("locations.csv", row["location"]) or fact.location
                facts.append(fact)
        self._keep_facts(facts)
        for use, movement in zip(done, self.kept, strict=True):
            use.movement = movement
        MaterialUse.objects.bulk_create(uses, batch_size=BATCH)

    def _facts(self) -> None:
        self.add("valuations.csv", ValuationChange)
        rows = self.new("purchases.csv")
        receipts = [
            self._movement(row, MovementKind.RECEIPT, unit_cost=row["unit_cost"], location=row["location"])
            for row in rows
        ]
        self._keep_facts(receipts)
        Purchase.objects.bulk_create(
            [
                Purchase(
                    movement=movement,
                    supplier=self.find("suppliers.csv", row["supplier"]),
                    reference=row["reference"],
                    paid_on=row["paid_on"],
                    order_line=line,
                    lot=row["lot"],
                    use_by=row["use_by"],
                )
                for row, movement, line in zip(rows, receipts, lines_delivered(self, rows), strict=True)
            ],
            batch_size=BATCH,
        )
        self._keep_facts(
            [
                self._movement(row, MovementKind.COUNT, unit_cost=row["unit_cost"], location=row["location"])
                for row in self.new("counts.csv")
            ]
        )
        self._other_facts()
        self.add("count_sheets.csv", Found)
        self.change("count_sheets.csv")

    def _movement(
        self, row: FolderRow, kind: str, unit_cost=None, location: str | None = None, **more
    ) -> Movement:
        return Movement(
            item=self.find("items.csv", row["item"]),
            date=row["date"],
            kind=kind,
            quantity=row["quantity"],
            unit_cost=unit_cost,
            location=self.find("locations.csv", location),
            **({"rank": RANK[kind]} | more if kind in RANK else more),
        )

    def _keep_facts(self, movements: list[Movement]) -> None:
        self.kept = Movement.objects.bulk_create(movements, batch_size=BATCH)
        self.touched_items |= {movement.item_id for movement in movements}

    def _other_facts(self) -> None:
        rows = self.new("stock_facts.csv")
        waiting: list[tuple[FolderRow, Movement]] = []
        for row in rows:
            if row["kind"] == MovementKind.REVERSAL:
                self._keep_other(waiting)
                waiting = []
                self._reverse(row)
            else:
                more = {"to_location": self.find("locations.csv", row["to_location"]), "note": row["note"]}
                if row["kind"] == MovementKind.VISIT_RETURN:
                    visit, horse = self._visit_and_horse(row)
                    more["job"] = job_key(visit.pk, horse.pk)
                waiting.append((row, self._movement(row, row["kind"], location=row["location"], **more)))
        self._keep_other(waiting)

    def _visit_and_horse(self, row: FolderRow) -> tuple[Visit, Horse]:
        return self.find("visits.csv", row["visit"]), self.find("horses.csv", row["horse"])

    def _keep_other(self, waiting: list[tuple[FolderRow, Movement]]) -> None:
        self._keep_facts([movement for _, movement in waiting])
        returns = []
        for row, movement in waiting:
            if row["kind"] == MovementKind.VISIT_RETURN:
                visit, horse = self._visit_and_horse(row)
                returns.append(MaterialReturn(movement=movement, visit=visit, horse=horse))
        MaterialReturn.objects.bulk_create(returns, batch_size=BATCH)

    def _reverse(self, row: FolderRow) -> None:
        """Take back the first fact not yet reversed of the same kind, date, item, quantity and location."""
        location = self.find("locations.csv", row["location"])
        undone = (
            Movement.objects.filter(
                kind=row["reverses"],
                date=row["reverses_date"] or row["date"],
                item=self.find("items.csv", row["item"]),
                quantity=row["quantity"],
                location=location,
                reversal__isnull=True,
            )
            .in_order()
            .first()
        )
        if undone is None:
            message = f"the book has no such {row['reverses']} to take back"
            self.folder.complain("stock_facts.csv", row.line, "reverses", message)
            return
        late = row["reverses_date"] is not None
        reversal = self._movement(
            row,
            MovementKind.REVERSAL,
            location=row["location"],
            to_location=undone.to_location,
            reverses=undone,
            rank=undone.rank,
            cause_order=LAST if late else 0,
            note=row["note"],
        )
        self._keep_facts([reversal])

    # Billing

    def _invoices(self) -> None:
        rows = self.new("invoices.csv")
        invoices = [Invoice(**self.attributes(row, [])) for row in rows]
        Invoice.objects.bulk_create(invoices, batch_size=BATCH)
        for row, invoice in zip(rows, invoices, strict=True):
            self.lookup.objects["invoices.csv"][row["number"]] = invoice
            self.touched_clients.add(invoice.client_id)
        lines = []
        for row in self.new("invoice_lines.csv"):
            service = self.find("services.csv", row["code"]) if row["kind"] == "service" else None
            item = self.find("items.csv", row["code"]) if row["kind"] == "material" else None
            lines.append(InvoiceLine(**self.attributes(row, ["code"]), service=service, item=item))
        InvoiceLine.objects.bulk_create(lines, batch_size=BATCH)
        locked = {line.visit_id for line in lines}
        for start in range(0, len(locked), BATCH):
            Visit.objects.filter(pk__in=sorted(locked)[start : start + BATCH]).update(locked=True)

    def _payments(self) -> None:
        payments = self.add("payments.csv", Payment)
        self.touched_clients |= {payment.client_id for payment in payments}
        self._chosen_settlements()
        self.add("expenses.csv", Expense)
        self.add("repeating_expenses.csv", RepeatingExpense)
        self.add("equipment.csv", Equipment)
        self.add("estimated_payments.csv", EstimatedPayment)
        self.add("packs.csv", Pack)
        self._files()

    def _files(self) -> None:
        """Say which receipt an expense has; the files themselves are kept once the book is."""
        for row in self.new(FILES_CSV):
            if expense := self.find("expenses.csv", row["expense"]):
                Expense.objects.filter(pk=expense.pk).update(receipt=row["name"])
            transaction.on_commit(partial(keep_attachment, row["what"], row.source))

    def _chosen_settlements(self) -> None:
        """Take over what was set aside by hand of payments that name nothing; the rest is worked out."""
        rows = []
        for row in self.new("settlements.csv"):
            payment = self.find("payments.csv", row["payment"])
            if row["by_hand"] and row["amount"] > 0 and not payment.invoice_id and not payment.visit_id:
                rows.append(Settlement(**self.attributes(row)))
        Settlement.objects.bulk_create(rows, batch_size=BATCH)
        self.touched_clients |= {row.payment.client_id for row in rows}


def costed_by() -> tuple:
    """Return what changes the ledger of every item: the methods, and whether stock lies at several places."""
    return Profile.current().valuation, method_changes(), Location.objects.exists()
