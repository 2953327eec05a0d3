"""Sheets of clients, places and horses as rows of the book."""

from collections import defaultdict

from practice.project.bring_in.known import CLIENT, HORSE, PLACE
from practice.project.bring_in.last_work import add_last_work, read_last_work
from practice.project.bring_in.rows import BLANK, RowReading
from practice.project.bring_in.translation import Translation, plain
from practice.project.bring_in.typed import folded, read_owners, read_year, read_yes_no

LONGEST_CYCLE, LONGEST_TERMS = 520, 9999


def translate_clients(work: Translation) -> None:
    for row in work.sound_rows():
        values = {
            "phone": row.text("phone"),
            "email": row.text("email"),
            "address": _address(row),
            "payment_terms_days": plain(row.whole("payment_terms_days", 0, LONGEST_TERMS)),
            "discount": plain(row.number_of("discount", "5")),
            "tax_exempt": plain(row.read("tax_exempt", read_yes_no)),
            "notes": row.text("notes"),
        }
        _one_thing(work, CLIENT, row, _name_of_client(row), values)


def _name_of_client(row: RowReading) -> str:
    """Return the name, of its own column or of first and last name; refuse where there is none."""
    name = row.text("name") or " ".join(filter(None, (row.text("first_name"), row.text("last_name"))))
    if not name:
        row.refuse(
            next(code for code in ("name", "last_name", "first_name") if code in row.reader.columns), BLANK
        )
    return name


def _address(row: RowReading) -> str:
    return "\n".join(filter(None, (row.text("address"), row.text("town"))))


def translate_places(work: Translation) -> None:
    for row in work.sound_rows():
        values = {
            "address": _address(row),
            "phone": row.text("phone"),
            "gate_code": row.text("gate_code"),
            "area": row.text("area"),
            "travel_rate": plain(row.number_of("travel_rate", "0.85")),
            "latitude": plain(row.number_of("latitude", "41.2")),
            "longitude": plain(row.number_of("longitude", "-93.4")),
            "notes": row.text("notes"),
        }
        _one_thing(work, PLACE, row, row.needed("name"), values)


def _one_thing(work: Translation, what: str, row: RowReading, name: str, values: dict[str, str]) -> None:
    """Add the client or place of a row, or let it change the one in the book."""
    if not name or work.is_second(row, "name", folded(name)):
        return
    found = work.find(what, name, row, "name")
    if row.is_sound:
        work.put(what, found, name, row, values)


def translate_horses(work: Translation) -> None:
    contacts = _contacts(work)
    for row in work.sound_rows():
        name, owners = row.needed("name"), _owners(work, row, contacts)
        values = {
            "place": work.named(PLACE, row.text("place"), row, "place"),
            "cycle_weeks": plain(row.whole("cycle_weeks", 1, LONGEST_CYCLE)),
            "next_call": plain(row.day("next_call")),
            "born": plain(row.read("born", read_year, row.reader.locale, row.reader.order_of("born"))),
            "breed": row.text("breed"),
            "cautions": row.text("cautions"),
        }
        last = read_last_work(work, row)
        values["notes"] = "\n".join(filter(None, (row.text("notes"), last.worn_in_words)))
        if not name or work.is_second(row, "name", (folded(name), frozenset(owners))):
            continue
        found = work.find(HORSE, name, row, "name", work.book.horses_of(name, set(owners)))
        if row.is_sound:
            key = _add_horse(work, row, name, values, owners, found)
            add_last_work(work, row, last, key, found, values["place"])


def _contacts(work: Translation) -> dict[str, dict[str, str]]:
    """Return phone and email by what the column of owners says: the first of each that is not blank."""
    found = defaultdict(dict)
    for row in work.sheet.rows:
        for code in ("phone", "email"):
            if text := row.text(f"owner_{code}"):
                found[folded(row.text("owner"))].setdefault(code, text)
    return found


def _owners(work: Translation, row: RowReading, contacts: dict[str, dict[str, str]]) -> dict[str, str]:
    """Return the shares of a horse's owners by their keys. Clients that the book does not have are made."""
    named = row.read("owner", read_owners) or []
    more = contacts.get(folded(row.text("owner")), {}) if len(named) == 1 else {}
    keys = {}
    for name, share in named:
        if key := work.named(CLIENT, name, row, "owner", **more):
            keys[key] = plain(share)
    return keys


def _add_horse(work: Translation, row, name: str, values: dict, owners: dict[str, str], found) -> str:
    """Add a horse, or let the row change the one in the book; return its key."""
    key = work.put(HORSE, found, name, row, values, *sorted(owners))
    if found is None or not work.book.owners_of(found):
        for client, share in owners.items():
            work.add("owners.csv", row, {"horse": key, "client": client, "share": share}, {"share": "owner"})
    return key
