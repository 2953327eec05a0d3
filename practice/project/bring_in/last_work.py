"""What was done last on a horse of a sheet, and the shoes that it wears since."""

from dataclasses import dataclass
from datetime import date

from practice.models import Horse
from practice.project.bring_in.contract_rows import made_key
from practice.project.bring_in.known import ITEM, SERVICE
from practice.project.bring_in.rows import RowReading
from practice.project.bring_in.translation import Translation, plain
from practice.project.bring_in.typed import folded
from practice.rules.horse_work import FORE, HIND
from practice.rules.proposed_work import PROPOSED_WORK, ProposedWork
from stock.models import Fits, Item, ItemKind

# What was done last where the sheet does not say and no kind of work was chosen.
USUAL_WORK = "Trim"
WORN = (("front_shoes", FORE, Fits.FRONT, "in front"), ("hind_shoes", HIND, Fits.HIND, "behind"))
PROPOSED = {folded(proposed.name): proposed for proposed in PROPOSED_WORK}


@dataclass(frozen=True)
class LastWork:
    """The day and the work, as a name; None and blank where they are not known.

    `shoes`: the items that this work put on, by foot. `worn_in_words`: whatever else the horse wears.
    """

    on: date | None
    service: str
    shoes: dict[str, Item]
    worn_in_words: str


def read_last_work(work: Translation, row: RowReading) -> LastWork:
    """Read what was done last. Shoes that it put on left the truck that day; others stand in the notes."""
    on = row.past_day("last_done")
    service = row.text("last_work") or work.option("service", USUAL_WORK)
    puts_on = bool(on and _puts_shoes_on(work, service))
    shoes, words = {}, []
    for code, feet, fits, where in WORN:
        text = row.text(code)
        item = _shoe(work, row, code, text, fits) if text and puts_on else None
        shoes |= dict.fromkeys(feet, item) if item else {}
        words += [f"{text} {where}"] if text and not item else []
    return LastWork(on, service, shoes, f"Wears {' and '.join(words)}." if words else "")


def _puts_shoes_on(work: Translation, service: str) -> bool:
    known = work.book.of(SERVICE, service)
    found = known[0] if known else PROPOSED.get(folded(service))
    return bool(found and found.new_shoes)


def _shoe(work: Translation, row: RowReading, code: str, text: str, fits: str) -> Item | None:
    """Return the item that a cell names, or the one shoe of the size that it says; else None."""
    if found := work.find(ITEM, text, row, code):
        return found
    size = folded(text).removeprefix("no").removeprefix("size").strip(" .#")
    shoes = [item for item in work.book.all_of(ITEM) if item.kind == ItemKind.SHOE and not item.archived]
    of_size = [item for item in shoes if folded(item.size) == size and item.fits in (fits, Fits.ANY)]
    return of_size[0] if len(of_size) == 1 else None


def add_last_work(
    work: Translation, row: RowReading, last: LastWork, horse: str, found: Horse | None, place: str | None
) -> None:
    """Add the visit of the last work, billed before, unless the book has work on the horse since.

    One visit for all horses of a place and day.
    """
    if last.on is None or (found and (known := work.book.last_done(found)) and known >= last.on):
        return
    place = place or (found.place.key if found and found.place else None)
    if not place:
        row.refuse("last_done", "Type the horse's place, too. Past work needs one.")
        return
    code = "last_work" if row.text("last_work") else "last_done"
    service = work.named(SERVICE, last.service, row, code, **_proposed(work, last.service))
    visit = str(made_key(work.upload.key, "visit", place, last.on))
    codes = {"date": "last_done", "visit": "last_done", "place": "place", "service": "last_work"}
    if service and visit not in work.visits:
        work.visits.add(visit)
        values = {"ref": visit, "date": plain(last.on), "place": place, "status": "done", "billed": "yes"}
        work.add("visits.csv", row, values, codes)
    work.add("work.csv", row, {"visit": visit, "horse": horse, "service": service or ""}, codes)
    for foot, item in last.shoes.items():
        used = {"visit": visit, "horse": horse, "item": item.key, "quantity": "1", "foot": foot}
        work.add("materials.csv", row, used, codes)


def _proposed(work: Translation, service: str) -> dict[str, str]:
    """Return what is known of work that the book does not have yet: what a new practice is offered."""
    proposed: ProposedWork | None = PROPOSED.get(folded(service))
    if proposed is None or work.book.of(SERVICE, service):
        return {}
    return {
        "minutes": plain(proposed.minutes),
        "resets_cycle": plain(proposed.resets_cycle),
        "new_shoes": plain(proposed.new_shoes),
        "feet_nailed": plain(proposed.feet_nailed),
    }
