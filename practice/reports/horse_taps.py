"""What the page of a horse needs to answer taps by itself, as plain values (static/js/horse.js)."""

from decimal import Decimal

from practice.lib import formats
from practice.lib.money import minor_digits
from practice.reports.horse_at_visit import HorseAtVisit
from practice.reports.horse_sheet import NOTHING_CHOSEN, HorseSheet
from practice.reports.sheet_rows import BARE, RESET, TRIM, in_short
from practice.rules import horse_work
from practice.rules.horse_work import FEET, HorseWork
from stock.models import ItemKind


def taps_data(sheet: HorseSheet) -> dict:
    """Return services, the usual nail, the last time, and shoes and nails; keys and quantities in text.

    Of an item it is what stands in bold, and what is small: a shoe under its foot, a nail beside its count.
    """
    at, last = sheet.at, sheet.at.usual.last
    return {
        "mark": formats.decimal_mark(at.profile.locale),
        "words": {"reset": RESET, "trim": TRIM, "bare": BARE, "nothing": NOTHING_CHOSEN},
        "services": _services(at),
        "nail": _key(at.usual.shoeing.nail),
        "blank": _blank(at),
        "last": _fields(at, horse_work.again(last.state)) if last else None,
        "isRecorded": bool(at.recorded.work or at.recorded.uses),
        "repeats": f"Last time: {last.services}" if at.can_repeat else "",
        "items": {
            row.item.pk: {
                "b": str(row.item),
                "small": in_short(row.item) if row.item.kind == ItemKind.SHOE else row.detail,
            }
            for row in sheet.shoes_and_nails
        },
    }


def _services(at: HorseAtVisit) -> dict[str, dict]:
    """Return what services say about feet and shoes; `price` is the one proposed, blank: the price list."""
    free = formats.for_a_field(Decimal(0), at.profile.locale, minor_digits(at.profile.currency))
    usual = at.usual.shoeing.shoes
    return {
        _key(facts.key): {
            "name": str(at.services[facts.key]),
            "nailed": facts.nailed,
            "shoes": {foot: _key(shoe) for foot, shoe in usual.items() if facts.puts_new_shoe_on(foot)},
            "resets": facts.resets_cycle,
            "isHot": facts.is_hot,
            "price": free if at.renails.include(facts) else "",
        }
        for facts in at.facts_of(at.services)
    }


def _blank(at: HorseAtVisit) -> dict:
    """Return the fields of a state without anything."""
    items = {f"item_{item}": "" for item in at.items}
    return _fields(at, HorseWork()) | items | {f"shoe_{foot}": "" for foot in FEET}


def _fields(at: HorseAtVisit, state: HorseWork) -> dict:
    """Return a state by the names of the fields that hold it."""

    def written(quantity: Decimal) -> str:
        return formats.for_a_field(quantity, at.profile.locale)

    return {
        "work": [line.key for line in state.work],
        "foot": list(state.feet),
        "nail": _key(state.nail),
        "nails": written(state.nails),
        **{f"quantity_{line.key}": written(line.quantity) for line in state.work},
        **{f"{name}_{line.key}": "" for line in state.work for name in ("price", "note")},
        **{f"shoe_{foot}": _key(shoe) for foot, shoe in state.shoes.items()},
        **{f"item_{item}": written(count) for item, count in state.counts.items()},
    }


def _key(item: int | None) -> str:
    return "" if item is None else str(item)
