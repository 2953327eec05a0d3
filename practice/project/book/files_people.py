"""The files of the practice, its people, and what it has."""

from decimal import Decimal

from billing.models import Price, TaxRate
from practice.lib.choices import TravelRule, ValuationMethod
from practice.lib.countries import mileage_schemes
from practice.lib.profile import Profile
from practice.lib.units import DISTANCE_UNITS
from practice.models import (
    Client,
    Horse,
    Owner,
    Place,
    Service,
    Sign,
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
    PERCENT,
    POSITIVE,
    PRACTICE,
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
from practice.project.book.values import (
    Choice,
    CountryCode,
    CurrencyCode,
    LanguageTag,
    Limited,
    Number,
    Whole,
)
from stock.models import Fits, Item, Location, Side, Supplier
from stock.models import ItemKind as ItemKind


def people() -> tuple[BookFile, ...]:
    return (
        BookFile(
            PRACTICE,
            (
                text("name", NAME, required=True),
                text("address"),
                text("email", MAIL),
                text("phone", SHORT),
                text("tax_id", SHORT),
                text("registration_number", SHORT),
                BookColumn("locale", LanguageTag(), required=True),
                BookColumn("currency", CurrencyCode(), required=True),
                BookColumn("distance_unit", Choice(tuple(DISTANCE_UNITS)), required=True),
                BookColumn("country", CountryCode(), default=""),
                text("invoice_prefix", Limited(20)),
                BookColumn("payment_terms_days", DAYS, default=14),
                BookColumn("home_latitude", LATITUDE),
                BookColumn("home_longitude", LONGITUDE),
                yes_no("home_is_principal_place_of_business", default=True),
                BookColumn("mileage_scheme", Choice(tuple(mileage_schemes()))),
                BookColumn("valuation", Choice(ValuationMethod.values()), default="moving_average"),
                BookColumn("lead_time_days", DAYS, default=7),
                BookColumn("review_period_days", DAYS, default=7),
                BookColumn("travel_rule", Choice(TravelRule.values()), default="none"),
                BookColumn("travel_rate", NOT_NEGATIVE),
                BookColumn("minimum_call", NOT_NEGATIVE),
                yes_no("travel_taxable"),
                BookColumn("closed_through", DAY),
                text("pay_note"),
                BookColumn("set_aside_percent", PERCENT),
                text("home_statement"),
                BookColumn("free_renail_days", DAYS),
                BookColumn("early_discount_percent", PERCENT),
                BookColumn("early_discount_days", DAYS),
                BookColumn("late_fee", NOT_NEGATIVE),
                BookColumn("late_interest_percent", PERCENT),
                BookColumn("late_fee_after_days", DAYS, default=0),
                text("vet_name", NAME),
                text("vet_phone", SHORT),
            ),
            Profile.objects.all,
            known_by=("one",),
            updates=True,
        ),
        BookFile(
            "clients.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                text("email", MAIL),
                text("phone", SHORT),
                text("address"),
                BookColumn("language", LanguageTag(), default=""),
                BookColumn("payment_terms_days", DAYS),
                BookColumn("billing", Choice(Client.Billing.values), default="per_day"),
                BookColumn("discount", PERCENT),
                yes_no("tax_exempt"),
                text("notes"),
                yes_no("archived"),
            ),
            lambda: Client.objects.order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        BookFile(
            "places.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                text("address"),
                BookColumn("latitude", LATITUDE),
                BookColumn("longitude", LONGITUDE),
                text("area", LINE),
                BookColumn("travel_rate", NOT_NEGATIVE),
                text("notes"),
                yes_no("archived"),
                text("phone", SHORT),
                text("gate_code", SHORT),
            ),
            lambda: Place.objects.order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        BookFile(
            "horses.csv",
            (
                own_ref(),
                text("name", NAME, required=True),
                ref("place", "places.csv"),
                BookColumn("cycle_weeks", Whole(1, 520), default=6),
                BookColumn("next_call", DAY),
                BookColumn("born", Whole(1900, 2999)),
                text("breed", LINE),
                BookColumn("status", Choice(Horse.Status.values), default="active"),
                text("cautions"),
                text("notes"),
                text("vet_name", NAME),
                text("vet_phone", SHORT),
            ),
            lambda: Horse.objects.select_related("place").order_by("pk"),
            known_by=("ref",),
            updates=True,
        ),
        BookFile(
            "owners.csv",
            (
                ref("horse", "horses.csv", required=True),
                ref("client", "clients.csv", required=True),
                BookColumn("share", Number(low=ZERO, high=Decimal(100), above=True), required=True),
                dated("from", "valid_from"),
                dated("to", "valid_to"),
            ),
            lambda: Owner.objects.select_related("horse", "client").order_by("pk"),
        ),
    )


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
