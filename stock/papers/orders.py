"""An order as it goes to the supplier: on paper, as plain values already in words, and as CSV."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.text import slugify

from practice.lib import formats
from practice.lib.letterhead import Letterhead, letterhead
from practice.lib.profile import Profile
from practice.lib.spreadsheet_cells import csv_text
from stock.models import Item, OrderLine
from stock.reports.orders import OrderSheet
from stock.rules.landing import amounts_of

CSV_COLUMNS = (
    "order",
    "date",
    "supplier",
    "item",
    "pattern",
    "size",
    "unit",
    "packs",
    "pack_size",
    "quantity",
    "unit_price",
    "cancelled",
    "received",
    "to_come",
)


@dataclass(frozen=True)
class OrderPaperLine:
    """A line of an order. `price` and `amount` are blank where no price is known."""

    name: str
    detail: str
    packs: str
    pack_size: str
    quantity: str
    price: str
    amount: str


@dataclass(frozen=True, kw_only=True)
class OrderPaper(Letterhead):
    """An order as it is printed. `total` is blank where not every price is known."""

    number: str
    ordered: str
    supplier_name: str
    supplier_contact: list[str]
    asked: str
    lines: list[OrderPaperLine]
    has_prices: bool
    total: str
    note: str


def order_paper(sheet: OrderSheet) -> OrderPaper:
    """Return what the order asks for: what was ordered, less what was canceled, at the prices expected."""
    profile = Profile.current()
    locale, currency = profile.locale, profile.currency
    order, supplier = sheet.order, sheet.order.supplier
    lines = [line for line in sheet.lines if line.wanted]
    priced = [line for line in lines if line.unit_price is not None]
    amounts = dict(
        zip(priced, amounts_of([(line.wanted, line.unit_price) for line in priced], currency), strict=True)
    )
    total = sum(amounts.values(), Decimal(0))
    return OrderPaper(
        **letterhead(profile, locale),
        number=order.key,
        ordered=formats.long_date(order.ordered_on, locale),
        supplier_name=supplier.name if supplier else "",
        supplier_contact=[text for text in (supplier.phone, supplier.email) if text] if supplier else [],
        asked=_asked(lines),
        lines=[_line(line, amounts.get(line), profile) for line in lines],
        has_prices=bool(priced),
        total=formats.money(total, currency, locale) if priced and len(priced) == len(lines) else "",
        note=order.note,
    )


def _asked(lines: list[OrderLine]) -> str:
    packs = sum(line.packs for line in lines)
    if not lines:
        return "Canceled: please do not send anything"
    items = "one item" if len(lines) == 1 else formats.counted(len(lines), "item")
    return f"Please send {formats.counted(packs, 'pack')} of {items}"


def _line(line: OrderLine, amount: Decimal | None, profile: Profile) -> OrderPaperLine:
    locale, unit = profile.locale, line.item.unit
    canceled = f"{formats.quantity(line.cancelled, locale)} canceled" if line.cancelled else ""
    return OrderPaperLine(
        name=line.item.name,
        detail=", ".join(text for text in (pattern_and_size(line.item), canceled) if text),
        packs=formats.quantity(Decimal(line.packs), locale),
        pack_size=formats.quantity(line.pack_size, locale),
        quantity=formats.quantity(line.wanted, locale) + ("" if unit == "each" else f" {unit}"),
        price="" if amount is None else formats.unit_price(line.unit_price, profile.currency, locale),
        amount="" if amount is None else formats.amount(amount, profile.currency, locale),
    )


def pattern_and_size(item: Item) -> str:
    """Return pattern and size where the name of an item does not say them: `plain, No 2`."""
    pattern = item.pattern if item.pattern.lower() not in item.name.lower() else ""
    size = f"No {item.size}" if item.size and item.size not in item.name.split() else ""
    return ", ".join(text for text in (pattern, size) if text)


def order_csv(sheet: OrderSheet) -> str:
    """Return the order's lines as CSV (RFC 4180), numbers plain with a point, prices in the currency."""
    order, rows = sheet.order, [CSV_COLUMNS]
    for line in sheet.lines:
        item = line.item
        rows.append(
            [order.key, order.ordered_on, order.supplier, item.name, item.pattern]
            + [item.size, item.unit, line.packs, f"{line.pack_size:f}", f"{line.quantity:f}"]
            + [None if line.unit_price is None else f"{line.unit_price:f}"]
            + [f"{line.cancelled:f}", f"{line.received:f}", f"{line.to_come:f}"]
        )
    return csv_text(rows)


def file_stem(sheet: OrderSheet) -> str:
    """Return a safe file name for an order, whatever ref an import brought: `order-o-2026-0001`."""
    return f"order-{slugify(sheet.order.key) or sheet.order.pk}"
