"""Sheets of items with their counts as rows of the book."""

from collections import Counter

from practice.project.bring_in.known import ITEM, SUPPLIER
from practice.project.bring_in.rows import RowReading
from practice.project.bring_in.translation import Translation, plain
from practice.project.bring_in.typed import NotRead, folded
from stock.models import Fits, ItemKind, Side

OTHER_WORDS = {
    "glue": ItemKind.ADHESIVE,
    "horseshoe": ItemKind.SHOE,
    "horseshoes": ItemKind.SHOE,
    "bar": ItemKind.BAR_STOCK,
    "propane": ItemKind.FUEL,
    "gas": ItemKind.FUEL,
    "coal": ItemKind.FUEL,
}
FITS = {"front": Fits.FRONT, "fronts": Fits.FRONT, "fore": Fits.FRONT, "hind": Fits.HIND, "hinds": Fits.HIND}
FITS |= {"rear": Fits.HIND, "back": Fits.HIND}
SIDES = {"left": Side.LEFT, "l": Side.LEFT, "right": Side.RIGHT, "r": Side.RIGHT}
EITHER = {"any", "both", "either", "all", "front and hind", "left and right"}


def kind_in(text: str) -> ItemKind | None:
    """Return the kind that a text says or holds: `Nails`, `Keg shoe`; None for none."""
    words = (
        {word.value: word for word in ItemKind} | {f"{word.value}s": word for word in ItemKind} | OTHER_WORDS
    )
    spoken = f" {folded(text)} "
    found = [kind for word, kind in words.items() if f" {word} " in spoken]
    return next((kind for kind in found if kind != ItemKind.OTHER), found[0] if found else None)


def read_kind(text: str) -> str:
    kind = kind_in(text)
    if kind is None:
        raise NotRead(f"Type one of these: {', '.join(ItemKind.values)}.")
    return kind.value


def read_word(text: str, words: dict[str, str], what: str) -> str:
    """Return what one of these words means, `any` for either of them. Raises NotRead."""
    word = folded(text)
    if word in EITHER:
        return "any"
    if word not in words:
        raise NotRead(f"Type {what}, or any.")
    return words[word].value


def translate_items(work: Translation) -> None:
    often = Counter(folded(row.text("name")) for row in work.sheet.rows)
    for row in work.sound_rows():
        name = row.needed("name")
        if often[folded(name)] > 1:
            name = " ".join(filter(None, (name, row.text("size"), row.text("side"))))
        values = _values(work, row, name)
        on_hand, cost = row.number_of("on_hand", "24"), row.number_of("unit_cost", "4.35")
        if not name or work.is_second(row, "name", folded(name)):
            continue
        found = work.find(ITEM, name, row, "name")
        if row.is_sound:
            key = _add_item(work, row, name, values, found)
            if on_hand is not None:
                count = {
                    "date": work.option("day"),
                    "item": key,
                    "quantity": plain(on_hand),
                    "unit_cost": plain(cost),
                }
                codes = {"date": "on_hand", "quantity": "on_hand", "unit_cost": "unit_cost"}
                work.add("counts.csv", row, count, codes)


def _values(work: Translation, row: RowReading, name: str) -> dict[str, str]:
    said = row.read("kind", read_kind)
    return {
        "kind": said or (kind_in(name) or ItemKind.OTHER).value,
        "pattern": row.text("pattern"),
        "size": row.text("size"),
        "fits": row.read("fits", read_word, FITS, "front or hind"),
        "side": row.read("side", read_word, SIDES, "left or right"),
        "unit": row.text("unit") or "each",
        "pack_size": plain(row.number_of("pack_size", "250")),
        "supplier": work.named(SUPPLIER, row.text("supplier"), row, "supplier"),
        "sale_price": plain(row.number_of("sale_price", "18.50")),
    }


def _add_item(work: Translation, row: RowReading, name: str, values: dict, found) -> str:
    """Add an item, or let the row change the one in the book; return its key."""
    if found is not None:  # what was guessed changes nothing
        values = {
            code: text for code, text in values.items() if code not in ("kind", "unit") or row.text(code)
        }
    return work.put(ITEM, found, name, row, values)
