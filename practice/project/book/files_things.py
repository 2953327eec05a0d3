"""The files of what the practice does and has: items, services, prices, rates, vehicles, signs."""

from decimal import Decimal

from billing.models import Price, TaxRate
from practice.models import Service, Sign, Vehicle
from practice.project.book.columns import (
    DAY,
    DAYS,
    LINE,
    MAIL,
    NAME,
    NOT_NEGATIVE,
    ONE,
    POSITIVE,
    SHORT,
    ZERO,
    BookColumn,
    BookFile,
    dated,
    own_ref,
    ref,
    text,
    yes_no,
)
from practice.project.book.values import Choice, Limited, Number, Whole
from stock.models import Fits, Item, ItemKind, Location, Side, Supplier


def things() -> tuple[BookFile, ...]:
    return (
        BookFile(
            "suppliers.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                text("email", MAIL),
                text("phone", SHORT),
                BookColumn("lead_time_days", DAYS),
                yes_no("archived"),
            ),
            lambda: Supplier.objects.order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        BookFile(
            "items.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                BookColumn("kind", Choice(ItemKind.values), required=True),
                text("pattern", LINE),
                text("size", Limited(40)),
                BookColumn("fits", Choice(Fits.values), default="any"),
                BookColumn("side", Choice(Side.values), default="any"),
                text("unit", Limited(20), required=True),
                BookColumn("pack_size", POSITIVE, default=ONE),
                ref("supplier", "suppliers.csv"),
                BookColumn("lead_time_days", DAYS),
                BookColumn(
                    "service_level", Number(low=ZERO, high=Decimal("0.999999")), default=Decimal("0.95")
                ),
                BookColumn("sale_price", NOT_NEGATIVE),
                yes_no("taxable"),
                yes_no("archived"),
                BookColumn("shelf_order", Whole(0, 9999)),
                text("material", Limited(40)),
                text("clips", Limited(40)),
            ),
            lambda: Item.objects.select_related("supplier").order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        BookFile(
            "services.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                BookColumn("minutes", Whole(0, 9999)),
                yes_no("taxable"),
                yes_no("resets_cycle", default=True),
                BookColumn("new_shoes", Whole(0, 4)),
                BookColumn("feet_nailed", Whole(0, 4)),
                BookColumn("fitted", Choice(Service.Fitted.values), default=""),
                yes_no("archived"),
            ),
            lambda: Service.objects.order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        BookFile(
            "prices.csv",
            (
                ref("service", "services.csv"),
                ref("item", "items.csv"),
                dated("from", "valid_from", required=True),
                BookColumn("price", NOT_NEGATIVE, required=True),
                ref("horse", "horses.csv"),
                ref("client", "clients.csv"),
                ref("place", "places.csv"),
            ),
            lambda: Price.objects.select_related("service", "item", "horse", "client", "place").order_by(
                "pk"
            ),
        ),
        BookFile(
            "tax_rates.csv",
            (
                text("name", LINE, required=True),
                dated("from", "valid_from", required=True),
                BookColumn("rate", NOT_NEGATIVE, required=True),
                dated("to", "valid_to"),
                text("area", LINE),
            ),
            lambda: TaxRate.objects.order_by("pk"),
        ),
        BookFile(
            "locations.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                ref("vehicle", "vehicles.csv", get=lambda row: getattr(row, "truck", None)),
            ),
            locations,
            known_by=("ref",),
        ),
        BookFile(
            "vehicles.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                BookColumn("placed_in_service", DAY),
                yes_no("archived"),
            ),
            lambda: Vehicle.objects.order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        BookFile(
            "signs.csv",
            (
                own_ref(),
                text("name", SHORT, required=True),
                yes_no("for_vet"),
                BookColumn("position", DAYS, default=0),
                yes_no("archived"),
            ),
            lambda: Sign.objects.order_by("pk"),
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
