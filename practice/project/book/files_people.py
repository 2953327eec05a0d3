"""The files of the practice, its people, and what it has."""

from decimal import Decimal

from billing.models import Price, TaxRate
from practice.lib.profile import MileageScheme, Profile, TravelRule, ValuationMethod
from practice.models import (
    Client,
    Horse,
    Owner,
    Place,
    Service,
    Vehicle,
)
from practice.project.book.columns import (
    DAY,
    DAYS,
    LATITUDE,
    LINE,
    LONGITUDE,
    MAIL,
    NAME,
    NOT_NEGATIVE,
    ONE,
    POSITIVE,
    PRACTICE,
    SHORT,
    ZERO,
    Column,
    File,
    dated,
    own_ref,
    ref,
    text,
    yes_no,
)
from practice.project.book.values import (
    Choice,
    Country,
    Currency,
    Limited,
    Number,
    Tag,
    Whole,
)
from stock.models import Fits, Item, Location, Side, Supplier
from stock.models import Kind as ItemKind


def people() -> tuple[File, ...]:
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
                Column("set_aside_percent", Number(low=Decimal(0), high=Decimal(100))),
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


def things() -> tuple[File, ...]:
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
                Column("shelf_order", Whole(0, 9999)),
                text("material", Limited(40)),
                text("clips", Limited(40)),
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
