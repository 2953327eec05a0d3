"""A draft as the page that closes the day shows it."""

from billing.reports.drafts import InvoiceDraft
from practice.models import Horse, Service
from stock.models import Item


def draft_blocks(draft: InvoiceDraft) -> list[dict]:
    """Return a draft's lines by horse, for the page that closes the day: name, share, lines, sum."""
    horses = Horse.objects.in_bulk({line.part.horse for line in draft.lines})
    services = Service.objects.in_bulk(
        {line.part.code for line in draft.lines if line.part.kind == "service"}
    )
    items = Item.objects.in_bulk({line.part.code for line in draft.lines if line.part.kind == "material"})
    blocks: dict[tuple[int, int], dict] = {}
    for line in draft.lines:
        part = line.part
        named = {"service": services, "material": items}.get(part.kind, {}).get(part.code, "Travel")
        block = blocks.setdefault(
            (line.visit.pk, part.horse),
            {"horse": horses[part.horse], "share": part.share, "visit": line.visit, "lines": [], "work": []},
        )
        block["lines"].append((named, part.quantity if part.kind != "travel" else None, part.net))
        if part.kind == "service":
            block["work"].append(str(named))
    return list(blocks.values())
