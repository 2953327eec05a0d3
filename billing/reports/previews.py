"""Drafts of invoices as the page that closes the day shows them."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from billing.reports.drafts import DraftLine, InvoiceDraft
from billing.reports.who_pays import WhoPays
from billing.rules.lines import CHARGE, MATERIAL, SERVICE, TRAVEL
from billing.rules.totals import TaxRow, by_name_and_rate
from practice.lib.formats import listed, percent
from practice.lib.profile import Profile
from practice.models import Client, Horse, Service
from stock.models import Item

FIRST = 3
OF_THE_VISIT = {TRAVEL: "Travel", CHARGE: "Minimum charge"}


@dataclass(frozen=True)
class PreviewLine:
    """A line of a horse: `quantity` is None where it is one, or a drive; `net` is the client's part."""

    name: str
    quantity: Decimal | None
    net: Decimal


@dataclass
class HorsePreview:
    """What a client is billed for one horse at one visit; `share` is the client's, in percent.

    `owners` are named where the client pays instead of them.
    """

    horse: Horse
    date: date
    share: Decimal
    owners: str = ""
    lines: list[PreviewLine] = field(default_factory=list)
    services: list[str] = field(default_factory=list)

    @property
    def summary(self) -> str:
        """The horse and its work: `Bramble: trim, front pair`."""
        return f"{self.horse}: {', '.join(self.services)}" if self.services else str(self.horse)


@dataclass(frozen=True)
class InvoicePreview:
    """A draft as it would be issued. Amounts in the practice's currency.

    `own` are charges and the client's discounts, which belong to no horse.
    """

    client: Client
    date: date
    total: Decimal
    taxes: list[TaxRow]
    horses: list[HorsePreview]
    own: list[PreviewLine] = field(default_factory=list)

    @property
    def summary(self) -> str:
        """The first horses with their work, and how many more there are."""
        named = [horse.summary for horse in self.horses] or [line.name for line in self.own]
        first, more = named[:FIRST], len(named) - FIRST
        return "; ".join([*first, f"and {more} more"] if more > 0 else first)


def invoice_previews(drafts: Sequence[InvoiceDraft], profile: Profile) -> list[InvoicePreview]:
    """Return these drafts, in their order, with the names of what they bill."""
    parts = [line.part for draft in drafts for line in draft.lines]
    horses = Horse.objects.in_bulk({part.horse for part in parts})
    who_pays = WhoPays(horses)
    owners = Client.objects.in_bulk(who_pays.all_owners)
    names = {
        SERVICE: Service.objects.in_bulk({part.code for part in parts if part.kind == SERVICE}),
        MATERIAL: Item.objects.in_bulk({part.code for part in parts if part.kind == MATERIAL}),
    }
    previews = [_preview(draft, profile, horses, names) for draft in drafts]
    for preview in previews:
        for block in preview.horses:
            keys = who_pays.owners(block.horse.pk, block.date)
            if preview.client.pk not in keys:
                block.owners = listed(owners[key] for key in keys)
    return previews


def _preview(
    draft: InvoiceDraft, profile: Profile, horses: dict[int, Horse], names: dict[str, dict]
) -> InvoicePreview:
    blocks: dict[tuple[int, int], HorsePreview] = {}
    for line in draft.lines:
        part = line.part
        if not line.is_of_visit:
            continue
        new = HorsePreview(horses[part.horse], line.visit.date, part.share)
        block = blocks.setdefault((line.visit.pk, part.horse), new)
        block.share = min(block.share, part.share)
        name = str(names[part.kind][part.code]) if part.kind in names else OF_THE_VISIT[part.kind]
        counted = part.kind in names and part.quantity != 1
        block.lines.append(PreviewLine(name, part.quantity if counted else None, part.net))
        if part.kind == SERVICE:
            block.services.append(name)
    sums = draft.totals(profile.currency)
    return InvoicePreview(
        draft.client,
        draft.date,
        sums.total,
        by_name_and_rate(sums.taxes),
        list(blocks.values()),
        [_own(line, profile) for line in draft.lines if not line.is_of_visit],
    )


def _own(line: DraftLine, profile: Profile) -> PreviewLine:
    if line.charge:
        counted = line.charge.quantity if line.charge.quantity != 1 else None
        return PreviewLine(line.charge.name, counted, line.part.net)
    return PreviewLine(f"Discount, {percent(line.part.percent, profile.locale)}", None, line.part.net)
