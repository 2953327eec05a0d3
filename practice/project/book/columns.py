"""The files of the book and their columns, in the order of the contract: what both ways stand on."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from billing.models import Expense, Invoice, InvoiceLine, Payment, Price, Settlement, TaxRate
from practice.lib.profile import MileageScheme, Profile, TravelRule, ValuationMethod
from practice.models import (
    Client,
    Finding,
    Foot,
    Horse,
    Leg,
    MaterialReturn,
    MaterialUse,
    Owner,
    Place,
    Reading,
    Service,
    Vehicle,
    Visit,
    Work,
    Zone,
)
from practice.project.book.values import (
    Amount,
    Choice,
    Clock,
    Country,
    Currency,
    Day,
    Kind,
    Limited,
    Number,
    OwnRef,
    RefOf,
    Tag,
    Whole,
    YesNo,
)
from stock.models import Fits, Item, Location, Movement, MovementKind, Purchase, Side, Supplier, Valuation
from stock.models import Kind as ItemKind

TEXT, DAY, YES_NO, ANY = Kind(), Day(), YesNo(), Number()
NAME, SHORT, LINE, REASON = Limited(200), Limited(60), Limited(100), Limited(300)
MAIL = Limited(254)
NOT_NEGATIVE, POSITIVE = Number(low=Decimal(0)), Number(low=Decimal(0), above=True)
TENTHS = Number(places=1, low=Decimal(0))
DAYS = Whole(0, 9999)
ZERO, ONE = Decimal(0), Decimal(1)


@dataclass(frozen=True)
class Column:
    """A column: its kind, whether it is required, what a blank means, and where its value comes from."""

    name: str
    kind: Kind
    required: bool = False
    default: Any = None
    get: Callable[[Any], Any] | None = None

    def of(self, row) -> Any:
        """Return the value that a row of the book has here; refs are keys."""
        return self.get(row) if self.get else getattr(row, self.name)

    def write(self, value) -> str:
        return "" if value is None or value == "" else self.kind.write(value)


@dataclass(frozen=True)
class File:
    """A file of the book. `known_by` says which columns tell that a row is in the book already.

    `updates`: a known row with other content replaces it, elsewhere it is an error. Without
    `known_by` rows count as copies. `rows` gives the book's rows in order of entry.
    """

    name: str
    columns: tuple[Column, ...]
    rows: Callable[[], Iterable]
    known_by: tuple[str, ...] = ()
    updates: bool = False
    by_name: dict[str, Column] = field(init=False, compare=False)

    def __post_init__(self):
        object.__setattr__(self, "by_name", {column.name: column for column in self.columns})

    def values(self, row) -> dict[str, Any]:
        """Return a row of the book as values by column."""
        return {column.name: column.of(row) for column in self.columns}


def text(name: str, kind: Kind = TEXT, required: bool = False, get=None) -> Column:
    return Column(name, kind, required, "", get)


def yes_no(name: str, default: bool = False) -> Column:
    return Column(name, YES_NO, default=default)


def own_ref() -> Column:
    return Column("ref", OwnRef(), required=True, get=lambda row: row.key)


def ref(name: str, file: str, required: bool = False, get=None) -> Column:
    """Return a column that points to a row of another file."""

    def key(row):
        pointed = getattr(row, name)
        return pointed.key if pointed else None

    return Column(name, RefOf(file), required, None, get or key)


def dated(name: str, attribute: str, required: bool = False) -> Column:
    return Column(name, DAY, required, None, lambda row: getattr(row, attribute))


def through(path: str) -> Callable[[Any], Any]:
    """Return a getter along relations, `movement.item.key`; None where a step is missing."""
    steps = path.split(".")

    def get(row):
        for step in steps:
            row = getattr(row, step) if row is not None else None
        return row

    return get


PRACTICE = "practice.csv"
LATITUDE = Number(low=Decimal(-90), high=Decimal(90))
LONGITUDE = Number(low=Decimal(-180), high=Decimal(180))


def files(currency: str = "USD") -> tuple[File, ...]:
    """Return all files in the order of the contract; amounts are read and written in this currency."""
    money = Amount(currency=currency)
    return (*_people(), *_things(), *_days(), *_facts(), *_billing(money), *_worked_out(money))


def _people() -> tuple[File, ...]:
    return (
        File(
            PRACTICE,
            (
                text("name", NAME, required=True),
                text("address"),
                text("email", MAIL),
                text("phone", SHORT),
                text("tax_id", SHORT),
                text("registration_number", SHORT),
                Column("locale", Tag(), required=True),
                Column("currency", Currency(), required=True),
                Column("distance_unit", Choice(("mi", "km")), required=True),
                Column("country", Country(), default=""),
                text("invoice_prefix", Limited(20)),
                Column("payment_terms_days", DAYS, default=14),
                Column("home_latitude", LATITUDE),
                Column("home_longitude", LONGITUDE),
                yes_no("home_is_principal_place_of_business", default=True),
                Column("mileage_scheme", Choice(MileageScheme.values)),
                Column("valuation", Choice(ValuationMethod.values), default="moving_average"),
                Column("lead_time_days", DAYS, default=7),
                Column("review_period_days", DAYS, default=7),
                Column("travel_rule", Choice(TravelRule.values), default="none"),
                Column("travel_rate", NOT_NEGATIVE),
                yes_no("travel_taxable"),
                Column("closed_through", DAY),
                text("pay_note"),
            ),
            Profile.objects.all,
            known_by=("one",),
            updates=True,
        ),
        File(
            "clients.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                text("email", MAIL),
                text("phone", SHORT),
                text("address"),
                Column("language", Tag(), default=""),
                Column("payment_terms_days", DAYS),
                Column("billing", Choice(Client.Billing.values), default="per_day"),
                yes_no("tax_exempt"),
                text("notes"),
                yes_no("archived"),
            ),
            lambda: Client.objects.order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        File(
            "places.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                text("address"),
                Column("latitude", LATITUDE),
                Column("longitude", LONGITUDE),
                text("area", LINE),
                Column("travel_rate", NOT_NEGATIVE),
                text("notes"),
                yes_no("archived"),
            ),
            lambda: Place.objects.order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        File(
            "horses.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                ref("place", "places.csv"),
                Column("cycle_weeks", Whole(1, 520), default=6),
                Column("next_call", DAY),
                Column("born", Whole(1900, 2999)),
                text("breed", LINE),
                Column("status", Choice(Horse.Status.values), default="active"),
                text("cautions"),
                text("notes"),
            ),
            lambda: Horse.objects.select_related("place").order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        File(
            "owners.csv",
            (
                ref("horse", "horses.csv", required=True),
                ref("client", "clients.csv", required=True),
                Column("share", Number(low=ZERO, high=Decimal(100), above=True), required=True),
                dated("from", "valid_from"),
                dated("to", "valid_to"),
            ),
            lambda: Owner.objects.select_related("horse", "client").order_by("pk"),
        ),
    )


def _things() -> tuple[File, ...]:
    return (
        File(
            "suppliers.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                text("email", MAIL),
                text("phone", SHORT),
                Column("lead_time_days", DAYS),
                yes_no("archived"),
            ),
            lambda: Supplier.objects.order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        File(
            "items.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                Column("kind", Choice(ItemKind.values), required=True),
                text("pattern", LINE),
                text("size", Limited(40)),
                Column("fits", Choice(Fits.values), default="any"),
                Column("side", Choice(Side.values), default="any"),
                text("unit", Limited(20), required=True),
                Column("pack_size", POSITIVE, default=ONE),
                ref("supplier", "suppliers.csv"),
                Column("lead_time_days", DAYS),
                Column("service_level", Number(low=ZERO, high=Decimal("0.999999")), default=Decimal("0.95")),
                Column("sale_price", NOT_NEGATIVE),
                yes_no("taxable"),
                yes_no("archived"),
            ),
            lambda: Item.objects.select_related("supplier").order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        File(
            "services.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                Column("minutes", Whole(0, 9999)),
                yes_no("taxable"),
                yes_no("resets_cycle", default=True),
                Column("new_shoes", Whole(0, 4)),
                Column("feet_nailed", Whole(0, 4)),
                Column("fitted", Choice(Service.Fitted.values), default=""),
                yes_no("archived"),
            ),
            lambda: Service.objects.order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        File(
            "prices.csv",
            (
                ref("service", "services.csv"),
                ref("item", "items.csv"),
                dated("from", "valid_from", required=True),
                Column("price", NOT_NEGATIVE, required=True),
            ),
            lambda: Price.objects.select_related("service", "item").order_by("pk"),
        ),
        File(
            "tax_rates.csv",
            (
                text("name", LINE, required=True),
                dated("from", "valid_from", required=True),
                Column("rate", NOT_NEGATIVE, required=True),
                dated("to", "valid_to"),
                text("area", LINE),
            ),
            lambda: TaxRate.objects.order_by("pk"),
        ),
        File(
            "locations.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                ref("vehicle", "vehicles.csv", get=lambda row: getattr(row, "truck", None)),
            ),
            locations,
            known_by=("ref",),
        ),
        File(
            "vehicles.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                Column("placed_in_service", DAY),
                yes_no("archived"),
            ),
            lambda: Vehicle.objects.order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
    )


def locations() -> list[Location]:
    """Return the locations, each with `truck`, the key of the vehicle that it is."""
    trucks = {vehicle.location_id: vehicle.key for vehicle in Vehicle.objects.filter(location__isnull=False)}
    rows = list(Location.objects.order_by("pk"))
    for row in rows:
        row.truck = trucks.get(row.pk)
    return rows


def _days() -> tuple[File, ...]:
    horse_at = ("visit__place", "visit", "horse")
    return (
        File(
            "visits.csv",
            (
                own_ref(),
                Column("date", DAY, required=True),
                ref("place", "places.csv", required=True),
                Column("status", Choice(Visit.Status.values), required=True),
                Column("arrive", Clock()),
                Column("leave", Clock()),
                ref("vehicle", "vehicles.csv"),
                yes_no("billed"),
                text("note"),
                Column("position", Whole(0, 9999)),
            ),
            lambda: Visit.objects.select_related("place", "vehicle").order_by("pk"),
            known_by=("ref",),
        ),
        File(
            "work.csv",
            (
                ref("visit", "visits.csv", required=True),
                ref("horse", "horses.csv", required=True),
                ref("service", "services.csv", required=True),
                Column("quantity", POSITIVE, default=ONE),
                Column("price", NOT_NEGATIVE),
                text("note"),
            ),
            lambda: Work.objects.select_related("visit", "horse", "service").order_by("pk"),
        ),
        File(
            "materials.csv",
            (
                ref("visit", "visits.csv", required=True),
                ref("horse", "horses.csv", required=True),
                ref("item", "items.csv", required=True),
                Column("quantity", POSITIVE, required=True),
                Column("foot", Choice(Foot.values), default=""),
                Column("price", NOT_NEGATIVE),
            ),
            lambda: MaterialUse.objects.select_related("visit", "horse", "item").order_by("pk"),
        ),
        File(
            "findings.csv",
            (
                ref("visit", "visits.csv", required=True),
                ref("horse", "horses.csv", required=True),
                Column("foot", Choice([*Foot.values, "all"]), required=True),
                Column("zone", Choice(Zone.values), required=True),
                text("kind", NAME, required=True),
                text("note"),
                yes_no("refer_to_vet"),
            ),
            lambda: Finding.objects.select_related(*horse_at).order_by("pk"),
        ),
        File(
            "readings.csv",
            (
                Column("date", DAY, required=True),
                ref("vehicle", "vehicles.csv", required=True),
                Column("at", Choice(Reading.At.values), required=True),
                Column("reading", TENTHS, required=True),
            ),
            lambda: Reading.objects.select_related("vehicle").order_by("pk"),
            known_by=("date", "vehicle", "at"),
        ),
        File(
            "legs.csv",
            (
                Column("date", DAY, required=True),
                ref("vehicle", "vehicles.csv", required=True),
                Column("start_odometer", TENTHS),
                Column("end_odometer", TENTHS),
                Column("distance", TENTHS),
                Column("purpose", Choice(Leg.Purpose.values), required=True),
                text("origin", NAME),
                text("destination", NAME),
                text("reason", REASON),
                ref("visit", "visits.csv"),
            ),
            lambda: Leg.objects.select_related("vehicle", "visit").order_by("pk"),
        ),
    )


REVERSIBLE = [kind for kind in MovementKind.values if kind != MovementKind.REVERSAL]
FACT_KINDS = ["visit return", "supplier return", "waste", "withdrawal", "transfer", "reversal"]


def _facts() -> tuple[File, ...]:
    return (
        File(
            "purchases.csv",
            (
                Column("date", DAY, required=True, get=through("movement.date")),
                ref("item", "items.csv", required=True, get=through("movement.item.key")),
                Column("quantity", POSITIVE, required=True, get=through("movement.quantity")),
                Column("unit_cost", NOT_NEGATIVE, required=True, get=through("movement.unit_cost")),
                ref("supplier", "suppliers.csv"),
                text("reference", NAME),
                Column("paid_on", DAY),
                ref("location", "locations.csv", get=through("movement.location.key")),
            ),
            lambda: Purchase.objects.select_related(
                "movement__item", "movement__location", "supplier"
            ).order_by("movement"),
        ),
        File(
            "counts.csv",
            (
                Column("date", DAY, required=True),
                ref("item", "items.csv", required=True),
                Column("quantity", NOT_NEGATIVE, required=True),
                Column("unit_cost", NOT_NEGATIVE),
                ref("location", "locations.csv"),
            ),
            lambda: (
                Movement.objects.filter(kind=MovementKind.COUNT)
                .select_related("item", "location")
                .order_by("pk")
            ),
            known_by=("date", "item", "location"),
        ),
        File(
            "stock_facts.csv",
            (
                Column("date", DAY, required=True),
                ref("item", "items.csv", required=True),
                Column("kind", Choice(FACT_KINDS), required=True),
                Column("quantity", POSITIVE, required=True),
                ref("location", "locations.csv"),
                ref("to_location", "locations.csv"),
                ref("visit", "visits.csv", get=lambda row: row.visit_key),
                ref("horse", "horses.csv", get=lambda row: row.horse_key),
                Column("reverses", Choice(REVERSIBLE), default="", get=through("reversed_kind")),
                text("note"),
                Column("reverses_date", DAY, get=through("reversed_date")),
            ),
            stock_facts,
        ),
    )


def stock_facts() -> list[Movement]:
    """Return the facts that no other file holds, with the keys of their visit and horse.

    A reversal is one where the fact that it takes back is exported: not one of a use that no visit
    counts any more.
    """
    returns = {row.movement_id: row for row in MaterialReturn.objects.select_related("visit", "horse")}
    in_use = set(MaterialUse.objects.filter(movement__isnull=False).values_list("movement", flat=True))
    rows = []
    for row in (
        Movement.objects.filter(kind__in=FACT_KINDS)
        .select_related("item", "location", "to_location", "reverses")
        .order_by("pk")
    ):
        undone = row.reverses
        if undone and undone.kind == MovementKind.USE and undone.pk not in in_use:
            continue
        of = returns.get(row.pk)
        row.visit_key, row.horse_key = (of.visit.key, of.horse.key) if of else (None, None)
        row.reversed_kind = undone.kind if undone else ""
        row.reversed_date = undone.date if undone and undone.date != row.date else None
        rows.append(row)
    return rows


def _billing(money: Amount) -> tuple[File, ...]:
    return (
        File(
            "invoices.csv",
            (
                text("number", SHORT, required=True),
                ref("client", "clients.csv", required=True),
                Column("issued", DAY, required=True),
                Column("due", DAY, required=True),
                Column("net", money, required=True),
                Column("tax", money, required=True),
                Column("total", money, required=True),
                Column("credit_applied", money, default=ZERO),
                text("client_name", NAME),
                text("client_address"),
                text("practice_name", NAME),
                text("practice_address"),
            ),
            lambda: Invoice.objects.select_related("client").order_by("pk"),
            known_by=("number",),
        ),
        File(
            "payments.csv",
            (
                own_ref(),
                Column("date", DAY, required=True),
                ref("client", "clients.csv", required=True),
                Column("amount", money, required=True),
                Column("method", Choice(Payment.Method.values), required=True),
                Column("invoice", RefOf("invoices.csv"), get=through("invoice.number")),
                ref("visit", "visits.csv"),
                Column("tip", money, default=ZERO),
                text("note"),
            ),
            lambda: Payment.objects.select_related("client", "invoice", "visit").order_by("pk"),
            known_by=("ref",),
        ),
        File(
            "expenses.csv",
            (
                own_ref(),
                Column("date", DAY, required=True),
                Column("category", Choice(Expense.CATEGORIES), required=True),
                Column("amount", money, required=True),
                text("vendor", NAME),
                ref("vehicle", "vehicles.csv"),
                text("note"),
            ),
            lambda: Expense.objects.select_related("vehicle").order_by("pk"),
            known_by=("ref",),
        ),
    )


LEDGER_KINDS = (
    "receipt",
    "use",
    "return",
    "waste",
    "withdrawal",
    "count",
    "transfer",
    "correction",
    "reversal",
)


def _worked_out(money: Amount) -> tuple[File, ...]:
    return (
        File(
            "invoice_lines.csv",
            (
                Column("invoice", RefOf("invoices.csv"), get=through("invoice.number")),
                ref("client", "clients.csv", required=True),
                Column("kind", Choice(InvoiceLine.Kind.values), required=True),
                ref("visit", "visits.csv", required=True),
                ref("horse", "horses.csv", required=True),
                text("code", NAME),
                Column("quantity", POSITIVE, required=True),
                Column("unit_price", NOT_NEGATIVE, required=True),
                Column("share", Number(low=ZERO, high=Decimal(100), above=True), required=True),
                Column("net", money, required=True),
                text("tax_names"),
                text("tax_rates"),
                text("tax_areas"),
            ),
            invoice_lines,
        ),
        File(
            "settlements.csv",
            (
                ref("payment", "payments.csv", required=True),
                Column("invoice", RefOf("invoices.csv"), required=True, get=through("invoice.number")),
                Column("date", DAY, required=True),
                Column("amount", money, required=True),
                yes_no("by_hand"),
            ),
            lambda: Settlement.objects.select_related("payment", "invoice").order_by(
                "date", "payment", "invoice", "amount"
            ),
        ),
        File(
            "stock_movements.csv",
            (
                Column("date", DAY, required=True, get=through("movement.date")),
                ref("item", "items.csv", required=True),
                Column("kind", Choice(LEDGER_KINDS), required=True),
                Column("quantity", ANY, required=True),
                Column("cost", ANY, required=True),
                ref("location", "locations.csv"),
                ref("visit", "visits.csv", get=lambda row: row.visit_key),
                ref("horse", "horses.csv", get=lambda row: row.horse_key),
                text("reference", get=lambda row: row.reference),
                Column("on_hand", ANY, required=True),
                Column("value", ANY, required=True),
            ),
            stock_movements,
        ),
    )


def invoice_lines() -> list[InvoiceLine]:
    """Return the lines by invoice, then line; parts still waiting last."""
    rows = InvoiceLine.objects.select_related("invoice", "client", "visit", "horse", "service", "item")
    return sorted(rows, key=lambda row: (row.invoice_id is None, row.invoice_id or 0, row.pk))


def stock_movements() -> list[Valuation]:
    """Return the ledger of all items in its order, with the keys of visit and horse and the reference."""
    uses = MaterialUse.objects.filter(movement__isnull=False).select_related("visit", "horse")
    returns = MaterialReturn.objects.select_related("visit", "horse")
    of = {row.movement_id: row for row in (*uses, *returns)}
    rows = list(
        Valuation.objects.select_related("movement", "item", "location", "movement__purchase").order_by(
            "movement__date",
            "movement__rank",
            "movement__cause_order",
            "movement_id",
            "position",
        )
    )
    for row in rows:
        job = of.get(row.movement_id) if row.kind != "correction" else None
        row.visit_key, row.horse_key = (job.visit.key, job.horse.key) if job else (None, None)
        purchase = getattr(row.movement, "purchase", None)
        row.reference = purchase.reference if purchase and row.kind == "receipt" else ""
    return rows
