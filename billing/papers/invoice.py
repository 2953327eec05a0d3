"""What an invoice shows on paper: plain values, already in words, and how they are found in the book."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from babel.lists import format_list
from django.utils.text import slugify

from billing.models import Invoice, InvoiceLine
from billing.papers.feet import FootShown, feet_left
from billing.reports.drafts import part_of
from billing.rules.totals import by_name_and_rate, taxes_of
from practice.lib import formats
from practice.lib.choices import TravelRule
from practice.lib.letterhead import Letterhead, letterhead
from practice.lib.money import round_money
from practice.lib.profile import Profile
from practice.models import Horse, Leg, MaterialUse, Visit, Work
from practice.reports.due import due_date


@dataclass(frozen=True)
class InvoicePaperLine:
    """A line of a horse's block: `full` is the whole price, blank where the client owns all of it."""

    name: str
    detail: str
    full: str
    amount: str
    is_work: bool = False


@dataclass
class Block:
    """One horse at one visit."""

    horse: str
    visit: str
    shares: list[str]
    feet: list[FootShown]
    next_due: str
    lines: list[InvoicePaperLine] = field(default_factory=list)
    covered: str = ""
    full: str = ""
    amount: str = ""
    share: str = ""


@dataclass(frozen=True)
class TaxShown:
    words: str
    amount: str


@dataclass(frozen=True, kw_only=True)
class InvoicePaper(Letterhead):
    """An invoice as it is printed."""

    number: str
    client_name: str
    client_address: str
    issued: str
    due: str
    visits: str
    to_pay: str
    due_words: str
    is_paid: bool
    blocks: list[Block]
    net: str
    taxes: list[TaxShown]
    total: str
    credit: str
    due_amount: str
    how_to_pay: list[tuple[str, str]]


class _Words:
    """Figures and dates in the client's language."""

    def __init__(self, invoice: Invoice, profile: Profile):
        self.locale = invoice.client.language or profile.locale
        self.currency, self.unit = profile.currency, profile.distance_unit

    def amount(self, value: Decimal) -> str:
        return formats.amount(value, self.currency, self.locale)

    def money(self, value: Decimal) -> str:
        return formats.money(value, self.currency, self.locale)

    def price(self, value: Decimal) -> str:
        return formats.unit_price(value, self.currency, self.locale)

    def quantity(self, value: Decimal) -> str:
        return formats.quantity(value, self.locale)

    def percent(self, value: Decimal) -> str:
        return formats.percent(value, self.locale)

    def list(self, words: list[str]) -> str:
        return format_list(words, locale=formats.locale_of("en"))


def invoice_paper(invoice: Invoice) -> InvoicePaper:
    """Return what the invoice shows. Names, addresses and credit are those kept with it."""
    profile = Profile.current()
    words = _Words(invoice, profile)
    lines = list(
        invoice.lines.select_related("visit__place", "horse", "service", "item").order_by("visit__date", "pk")
    )
    taxes = taxes_of([(p.net, p.taxes) for p in map(part_of, lines)], invoice.tax, profile.currency)
    due = invoice.total - invoice.credit_applied
    visits = list({line.visit_id: line.visit for line in lines}.values())
    return InvoicePaper(
        **letterhead(profile, words.locale, invoice.practice_name, invoice.practice_address),
        number=invoice.number,
        client_name=invoice.client_name or invoice.client.name,
        client_address=invoice.client_address or invoice.client.address,
        issued=formats.long_date(invoice.issued, words.locale),
        due=formats.long_date(invoice.due, words.locale),
        visits=visits_in_words(visits, words.locale),
        to_pay=words.money(due),
        due_words=formats.day_and_month(invoice.due, words.locale),
        is_paid=due <= 0,
        blocks=_blocks(lines, invoice, profile, words, many=len({v.date for v in visits}) > 1),
        net=words.amount(invoice.net),
        taxes=[
            TaxShown(
                f"{row.name}, {words.percent(row.rate)} of {words.amount(row.base)}", words.amount(row.tax)
            )
            for row in by_name_and_rate(taxes)
        ],
        total=words.amount(invoice.total),
        credit=words.amount(-invoice.credit_applied) if invoice.credit_applied else "",
        due_amount=words.money(due),
        how_to_pay=how_to_pay(profile),
    )


def visits_in_words(visits: list[Visit], locale: str) -> str:
    """Say when and where the visits were: `October 14, Larkspur Barn`; many are counted."""
    days = sorted({visit.date for visit in visits})
    places = list(dict.fromkeys(visit.place.name for visit in visits))
    if not days:
        return ""
    if len(days) == 1:
        return f"{formats.day_and_month(days[0], locale)}, {', '.join(places[:2])}" + (
            f" and {len(places) - 2} more" if len(places) > 2 else ""
        )
    first, last = formats.day_and_month(days[0], locale), formats.day_and_month(days[-1], locale)
    return f"{len(days)} days, {first} to {last}"


def how_to_pay(profile: Profile) -> list[tuple[str, str]]:
    """Return the practice's ways to pay, one a line, what stands before the colon as its heading."""
    pairs = []
    for line in profile.pay_note.splitlines():
        head, colon, rest = line.partition(":")
        if line.strip():
            pairs.append((head.strip(), rest.strip()) if colon else ("", line.strip()))
    return pairs


def _blocks(lines: list[InvoiceLine], invoice: Invoice, profile: Profile, words: _Words, many: bool):
    grouped: dict[tuple[int, int], list[InvoiceLine]] = defaultdict(list)
    for line in lines:
        grouped[line.visit_id, line.horse_id].append(line)
    visits = {line.visit_id for line in lines}
    work, uses = _by_job(Work, "service", visits), _by_job(MaterialUse, "item", visits)
    others = defaultdict(dict)
    for row in InvoiceLine.objects.filter(visit__in=visits).select_related("client").order_by("pk"):
        others[row.visit_id, row.horse_id].setdefault(row.client, row.share)
    travel, legs = _travel(visits), defaultdict(Decimal)
    for leg in Leg.objects.filter(visit__in=visits):
        legs[leg.visit_id] += leg.distance
    blocks = []
    for job, own in grouped.items():
        visit, horse, share = own[0].visit, own[0].horse, own[0].share
        whole = all(line.share == 100 for line in own)
        block = Block(
            horse=horse.name,
            visit=f"{formats.medium_date(visit.date, words.locale)}, {visit.place}" if many else "",
            shares=[] if whole else _shares(others[job], invoice, words),
            feet=feet_left(work[job], uses[job]),
            next_due=_next_due(horse, visit, work[job], words.locale),
            share="" if whole else words.percent(share),
        )
        for line in own:
            block.lines.append(_line(line, whole, words, travel, legs, profile))
        block.covered = _covered(uses[job], own, words)
        full = sum(
            (round_money(line.quantity * line.unit_price, profile.currency) for line in own), Decimal(0)
        )
        block.full = "" if whole else words.amount(full)
        block.amount = words.amount(sum((line.net for line in own), Decimal(0)))
        blocks.append(block)
    return blocks


def _by_job(model, related: str, visits: set[int]) -> dict[tuple[int, int], list]:
    table = defaultdict(list)
    for row in model.objects.filter(visit__in=visits).select_related(related).order_by("pk"):
        table[row.visit_id, row.horse_id].append(row)
    return table


def _travel(visits: set[int]) -> dict[int, dict[int, Decimal]]:
    """Return each visit's travel charge by horse."""
    table: dict[int, dict[int, Decimal]] = defaultdict(dict)
    for row in InvoiceLine.objects.filter(visit__in=visits, kind=InvoiceLine.Kind.TRAVEL):
        table[row.visit_id][row.horse_id] = row.unit_price
    return table


def _shares(shares: dict, invoice: Invoice, words: _Words) -> list[str]:
    said = [f"{words.percent(shares[invoice.client])} yours"] if invoice.client in shares else []
    return said + [
        f"{words.percent(share)} {client.name}"
        for client, share in shares.items()
        if client != invoice.client
    ]


def _line(
    line: InvoiceLine, whole: bool, words: _Words, travel: dict, legs: dict, profile: Profile
) -> InvoicePaperLine:
    details = []
    if line.kind == InvoiceLine.Kind.TRAVEL:
        details.append(_travel_in_words(line, travel[line.visit_id], legs[line.visit_id], words, profile))
    elif line.quantity != 1 or line.kind == InvoiceLine.Kind.MATERIAL:
        unit = f" {line.item.unit}" if line.item and line.item.unit != "each" else ""
        details.append(f"{words.quantity(line.quantity)}{unit} × {words.price(line.unit_price)}")
    if line.tax_names:
        details.append("taxed")
    full = round_money(line.quantity * line.unit_price, profile.currency)
    return InvoicePaperLine(
        name=str(line.service or line.item or "Travel"),
        detail=", ".join(details),
        full="" if whole else words.amount(full),
        amount=words.amount(line.net),
        is_work=line.kind == InvoiceLine.Kind.SERVICE,
    )


def _travel_in_words(
    line: InvoiceLine, charges: dict[int, Decimal], reach: Decimal, words: _Words, profile: Profile
) -> str:
    """Say how the drive was shared: `11.2 mi × 0.85 = 9.52, over three horses`."""
    charge, horses = sum(charges.values(), Decimal(0)), len(charges)
    own = line.visit.place.travel_rate
    rate = profile.travel_rate if own is None else own
    over = "" if horses == 1 else f"over {horses} horses"
    by_distance = profile.travel_rule == TravelRule.PER_DISTANCE and rate
    if by_distance and round_money(reach * rate, profile.currency) == charge:
        driven = formats.distance(reach, words.unit, words.locale)
        worked = f"{driven} × {words.price(rate)} = {words.amount(charge)}"
        return f"{worked}, {over}" if over else worked
    return f"{words.amount(charge)} {over}".strip() if over else ""


def _covered(uses: list[MaterialUse], billed: list[InvoiceLine], words: _Words) -> str:
    """Name the materials that the price of the work covers."""
    priced = {line.item_id for line in billed if line.item_id}
    sums: dict = defaultdict(Decimal)
    for use in uses:
        if use.item_id not in priced:
            sums[use.item] += use.quantity
    if not sums:
        return ""
    named = [
        f"{words.quantity(quantity)}{'' if item.unit == 'each' else ' ' + item.unit} × {item.name}"
        for item, quantity in sums.items()
    ]
    return f"Covered by the price of the work: {'; '.join(named)}."


def _next_due(horse: Horse, visit: Visit, work: list[Work], locale: str) -> str:
    if horse.status != Horse.Status.ACTIVE or not any(row.service.resets_cycle for row in work):
        return ""
    due: date | None = due_date(visit.date, horse.cycle_weeks, horse.next_call)
    return formats.short_date(due, locale) if due else ""


def file_name(number: str) -> str:
    """Return a safe and unique file name for an invoice's number, whatever an import brought."""
    if number.isascii() and all(c.isalnum() or c in "-_" for c in number):
        return number
    return f"{slugify(number) or 'invoice'}-{number.encode().hex()}"
