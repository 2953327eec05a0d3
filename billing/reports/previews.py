"""Drafts of invoices as the page that closes the day shows them."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from billing.reports.drafts import InvoiceDraft
from billing.rules.lines import MATERIAL, SERVICE
from billing.rules.totals import TaxRow, by_name_and_rate
from practice.models import Client, Horse, Service
from stock.models import Item

FIRST = 3


@dataclass(frozen=True)
class PreviewLine:
    """A line of a horse: `quantity` is None where it is one, or a drive; `net` is the client's part."""

    name: str
    quantity: Decimal | None
    net: Decimal


@dataclass
class HorsePreview:
    """What a client is billed for one horse at one visit; `share` is the client's, in percent."""

    horse: Horse
    share: Decimal
    lines: list[PreviewLine] = field(default_factory=list)
    services: list[str] = field(default_factory=list)

    @property
    def summary(self) -> str:
        """The horse and its work: `Bramble: trim, front pair`."""
        return f"{self.horse}: {', '.join(self.services)}" if self.services else str(self.horse)


@dataclass(frozen=True)
class InvoicePreview:
    """A draft as it would be issued. Amounts in the practice's currency."""

    client: Client
    date: date
    total: Decimal
    taxes: list[TaxRow]
    horses: list[HorsePreview]

    @property
    def summary(self) -> str:
        """The first horses with their work, and how many more there are."""
        first = [horse.summary for horse in self.horses[:FIRST]]
        more = len(self.horses) - FIRST
        return "; ".join([*first, f"and {more} more"] if more > 0 else first)


def invoice_previews(drafts: Sequence[InvoiceDraft], currency: str) -> list[InvoicePreview]:
    """Return these drafts, in their order, with the names of what they bill."""
    parts = [line.part for draft in drafts for line in draft.lines]
    horses = Horse.objects.in_bulk({part.horse for part in parts})
    names = {
        SERVICE: Service.objects.in_bulk({part.code for part in parts if part.kind == SERVICE}),
        MATERIAL: Item.objects.in_bulk({part.code for part in parts if part.kind == MATERIAL}),
    }
    return [_preview(draft, currency, horses, names) for draft in drafts]


def _preview(
    draft: InvoiceDraft, currency: str, horses: dict[int, Horse], names: dict[str, dict]
) -> InvoicePreview:
    blocks: dict[tuple[int, int], HorsePreview] = {}
    for line in draft.lines:
        part = line.part
        block = blocks.setdefault((line.visit.pk, part.horse), HorsePreview(horses[part.horse], part.share))
        name = str(names[part.kind][part.code]) if part.kind in names else "Travel"
        counted = part.kind in names and part.quantity != 1
        block.lines.append(PreviewLine(name, part.quantity if counted else None, part.net))
        if part.kind == SERVICE:
            block.services.append(name)
    sums = draft.totals(currency)
    return InvoicePreview(
        draft.client, draft.date, sums.total, by_name_and_rate(sums.taxes), list(blocks.values())
    )
