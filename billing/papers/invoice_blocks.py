"""The part of an invoice that says what was done: a block for each horse at each visit."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal

from billing.models import Invoice, InvoiceLine
from billing.papers.client_words import ClientWords
from billing.papers.feet import FootShown, feet_left
from billing.reports.who_pays import WhoPays
from billing.rules.lines import DISCOUNTED
from practice.lib import formats
from practice.lib.choices import TravelRule
from practice.lib.money import round_money
from practice.lib.profile import Profile
from practice.models import Client, Horse, Leg, MaterialUse, Visit, Work
from practice.reports.due import due_date
from practice.reports.miles import parts_back_of
from practice.rules.charges import line_amount

Job = tuple[int, int]  # the keys of a visit and a horse


@dataclass(frozen=True)
class InvoicePaperLine:
    """A line of a horse's block: `full` is the full price, blank where the client owns the whole horse."""

    name: str
    detail: str
    full: str
    amount: str
    is_work: bool = False


@dataclass(frozen=True)
class VisitHead:
    """The heading of a visit on an invoice of several days: when and where, and what it comes to."""

    words: str
    amount: str


@dataclass(frozen=True)
class HorseBlock:
    """One horse at one visit. `full` and `share` are blank where the client pays for the whole horse.

    `visit` stands before the first horse of a visit; `owners` are named where the client is none of them.
    """

    horse: str
    visit: VisitHead | None
    owners: str
    shares: list[str]
    feet: list[FootShown]
    next_due: str
    lines: list[InvoicePaperLine]
    included: str
    full: str
    amount: str
    share: str


def horse_blocks(
    invoice: Invoice, lines: list[InvoiceLine], profile: Profile, words: ClientWords
) -> list[HorseBlock]:
    """Return a block for each horse at each visit, in the order of `lines`.

    `lines` come with their visit's place, horse, service and item.
    """
    jobs: dict[Job, list[InvoiceLine]] = defaultdict(list)
    of_visits = [line for line in lines if line.horse_id]
    for line in of_visits:
        jobs[line.visit_id, line.horse_id].append(line)
    return _Blocks(invoice, profile, words, of_visits).all(jobs)


def own_lines(lines: list[InvoiceLine], words: ClientWords) -> list[InvoicePaperLine]:
    """Return the charges and the client's discounts, which belong to no horse, in the order of `lines`."""
    return [_own_line(line, lines, words) for line in lines if not line.horse_id]


def _own_line(line: InvoiceLine, lines: list[InvoiceLine], words: ClientWords) -> InvoicePaperLine:
    name, details = line.name, []
    if line.kind == InvoiceLine.Kind.DISCOUNT:
        whole = sum((other.net for other in lines if is_discounted_by(other, line)), Decimal(0))
        name = f"Discount, {words.percent(line.percent)}" if line.percent is not None else name
        details.append(f"on {words.amount(whole)} of work and materials")
    else:
        details.append(formats.day_and_month(line.day, words.locale))
        if line.visit:
            details.append(str(line.visit.place))
        if line.quantity != 1:
            details.append(f"{words.quantity(line.quantity)} × {words.price(line.unit_price)}")
    if line.tax_names:
        details.append("taxed")
    return InvoicePaperLine(name, ", ".join(details), "", words.amount(line.net))


def is_discounted_by(line: InvoiceLine, discount: InvoiceLine) -> bool:
    """Whether a client's discount is on this line: of services and materials, those of its set of rates."""
    taxes = [(row.tax_names, row.tax_rates, row.tax_areas) for row in (line, discount)]
    return line.kind in DISCOUNTED and taxes[0] == taxes[1]


class _Blocks:
    """What the blocks of one invoice need from the book, fetched once for all its visits."""

    def __init__(self, invoice: Invoice, profile: Profile, words: ClientWords, lines: list[InvoiceLine]):
        self.invoice, self.profile, self.words = invoice, profile, words
        visits: dict[int, Visit] = {line.visit_id: line.visit for line in lines}
        times = {line.visit_id: line.rebilled for line in lines}
        self.heads = self._heads(lines) if len({visit.date for visit in visits.values()}) > 1 else {}
        self.who_pays = WhoPays({line.horse_id for line in lines})
        self.clients = Client.objects.in_bulk(self.who_pays.all_owners)
        self.work = _by_job(Work, "service", visits)
        self.uses = _by_job(MaterialUse, "item", visits)
        self.shares: dict[Job, dict[Client, Decimal]] = defaultdict(dict)
        self.travel: dict[int, dict[int, Decimal]] = defaultdict(dict)
        self.minimum: dict[int, dict[int, Decimal]] = defaultdict(dict)
        # What was done may have been corrected since a credit note freed the visit.
        self.stands = {key for key, visit in visits.items() if visit.locked}
        parts = InvoiceLine.objects.of_visits().filter(visit__in=visits).select_related("client")
        for row in parts.order_by("pk"):
            if row.rebilled > times[row.visit_id]:
                self.stands.discard(row.visit_id)
            if row.rebilled != times[row.visit_id]:
                continue
            if row.share != 100:
                self.shares[row.visit_id, row.horse_id].setdefault(row.client, row.share)
            if row.kind == InvoiceLine.Kind.TRAVEL:
                self.travel[row.visit_id][row.horse_id] = row.unit_price
            elif row.is_minimum:
                self.minimum[row.visit_id][row.horse_id] = row.unit_price
        self.driven: dict[int, Decimal] = defaultdict(Decimal)
        for leg in Leg.objects.filter(visit__in=visits):
            self.driven[leg.visit_id] += leg.distance
        self.is_round_trip = profile.travel_rule == TravelRule.ROUND_TRIP
        for key, back in parts_back_of(visits).items() if self.is_round_trip else ():
            self.driven[key] += back or 0

    def _heads(self, lines: list[InvoiceLine]) -> dict[int, VisitHead]:
        """Return the heading of each visit, by its key."""
        visits = {line.visit_id: line.visit for line in lines}
        amounts: dict[int, Decimal] = defaultdict(Decimal)
        for line in lines:
            amounts[line.visit_id] += line.net
        words = self.words
        return {
            key: VisitHead(
                f"{formats.short_date(visit.date, words.locale)}, {visit.place}", words.amount(amounts[key])
            )
            for key, visit in visits.items()
        }

    def _owners(self, visit: Visit, horse: Horse) -> str:
        """Name the owners of a horse that the client pays for without being one of them; else blank."""
        owners = self.who_pays.owners(horse.pk, visit.date)
        if not owners or self.invoice.client_id in owners:
            return ""
        names = formats.listed(self.clients[owner] for owner in owners)
        return f"{'Owner' if len(owners) == 1 else 'Owners'}: {names}"

    def all(self, jobs: dict[Job, list[InvoiceLine]]) -> list[HorseBlock]:
        return [self._block(job, lines) for job, lines in jobs.items()]

    def _block(self, job: Job, lines: list[InvoiceLine]) -> HorseBlock:
        visit, horse, words = lines[0].visit, lines[0].horse, self.words
        work, uses = (self.work[job], self.uses[job]) if visit.pk in self.stands else ([], [])
        whole = all(line.share == 100 for line in lines)
        full = sum((self._full_price(line) for line in lines), Decimal(0))
        return HorseBlock(
            horse=horse.name,
            visit=self.heads.pop(visit.pk, None),
            owners=self._owners(visit, horse),
            shares=[] if whole else self._shares(self.shares[job]),
            feet=feet_left(work, uses),
            next_due=_next_due(horse, visit, work, words.locale),
            lines=[self._line(line, whole) for line in lines],
            included=_included(uses, lines, words),
            full="" if whole else words.amount(full),
            amount=words.amount(sum((line.net for line in lines), Decimal(0))),
            share="" if whole else words.percent(min(line.share for line in lines)),
        )

    def _shares(self, shares: dict[Client, Decimal]) -> list[str]:
        """Return each owner's share in words, the client's first."""
        client, percent = self.invoice.client, self.words.percent
        own = [f"Your share: {percent(shares[client])}"] if client in shares else []
        others = [f"{other.name}: {percent(share)}" for other, share in shares.items() if other != client]
        return own + others

    def _full_price(self, line: InvoiceLine) -> Decimal:
        return line_amount(line.quantity, line.unit_price, self.profile.currency)

    def _line(self, line: InvoiceLine, whole: bool) -> InvoicePaperLine:
        words = self.words
        details = []
        if line.kind == InvoiceLine.Kind.TRAVEL:
            details.append(self._travel(line))
        elif line.is_minimum:
            details.append(self._shared(self.minimum[line.visit_id]))
        elif line.quantity != 1 or line.kind == InvoiceLine.Kind.MATERIAL:
            unit = f" {line.item.unit}" if line.item and line.item.unit != "each" else ""
            details.append(f"{words.quantity(line.quantity)}{unit} × {words.price(line.unit_price)}")
        if line.tax_names:
            details.append("taxed")
        return InvoicePaperLine(
            name=line.name,
            detail=", ".join(filter(None, details)),
            full="" if whole else words.amount(self._full_price(line)),
            amount=words.amount(line.net),
            is_work=line.kind == InvoiceLine.Kind.SERVICE,
        )

    def _travel(self, line: InvoiceLine) -> str:
        """Say how the drive was charged and shared: `11.2 mi × 0.85 = 9.52, shared by 3 horses`."""
        words, profile = self.words, self.profile
        charges, driven = self.travel[line.visit_id], self.driven[line.visit_id]
        charge = sum(charges.values(), Decimal(0))
        own = line.visit.place.travel_rate
        rate = profile.travel_rate if own is None else own
        by_distance = (profile.travel_rule == TravelRule.PER_DISTANCE or self.is_round_trip) and rate
        if by_distance and round_money(driven * rate, profile.currency) == charge:
            worked = f"{words.distance(driven)} × {words.price(rate)} = {words.amount(charge)}"
            back = "with a share of the way back" if self.is_round_trip else ""
            return ", ".join(filter(None, [worked, back, _among(charges)]))
        return self._shared(charges)

    def _shared(self, charges: dict[int, Decimal]) -> str:
        """Say how a charge of the visit was shared: `12.50 shared by 3 horses`; blank for one horse."""
        whole = self.words.amount(sum(charges.values(), Decimal(0)))
        return f"{whole} {_among(charges)}" if len(charges) > 1 else ""


def _among(charges: dict[int, Decimal]) -> str:
    return "" if len(charges) == 1 else f"shared by {len(charges)} horses"


def _by_job(model, related: str, visits: dict[int, Visit]) -> dict[Job, list]:
    table = defaultdict(list)
    for row in model.objects.filter(visit__in=visits).select_related(related).order_by("pk"):
        table[row.visit_id, row.horse_id].append(row)
    return table


def _included(uses: list[MaterialUse], billed: list[InvoiceLine], words: ClientWords) -> str:
    """Name the materials that are not billed by themselves: the price of the work covers them."""
    priced = {line.item_id for line in billed if line.item_id}
    sums: dict = defaultdict(Decimal)
    for use in uses:
        if use.item_id not in priced:
            sums[use.item] += use.quantity
    if not sums:
        return ""
    names = [
        f"{words.quantity(quantity)}{'' if item.unit == 'each' else ' ' + item.unit} × {item.name}"
        for item, quantity in sums.items()
    ]
    return f"Included in the price of the work: {'; '.join(names)}."


def _next_due(horse: Horse, visit: Visit, work: list[Work], locale: str) -> str:
    """Return when the horse is next due after this visit, blank where nothing of it began a new cycle."""
    if horse.status != Horse.Status.ACTIVE or not any(row.service.resets_cycle for row in work):
        return ""
    due = due_date(visit.date, horse.cycle_weeks, horse.next_call)
    return formats.short_date(due, locale) if due else ""
