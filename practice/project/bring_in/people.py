"""Sheets of clients, places and horses as rows of the book."""

from datetime import date

from practice.project.bring_in.contract_rows import made_key
from practice.project.bring_in.known import CLIENT, HORSE, PLACE, SERVICE
from practice.project.bring_in.rows import BLANK, RowReading
from practice.project.bring_in.translation import FILL, Translation, plain
from practice.project.bring_in.typed import folded, read_owners, read_year, read_yes_no

LONGEST_CYCLE, LONGEST_TERMS = 520, 9999
# What was done last where the sheet does not say and no kind of work was chosen.
USUAL_WORK = "Trim"


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
    if not row.is_sound:
        return
    codes = {code: code for code in values} | {"name": "name"}
    if found is None:
        work.make(
            what,
            str(made_key(work.upload.key, what, folded(name))),
            name,
            row,
            {"name": name, **values},
            codes,
        )
    else:
        work.change(what, found, row, values, codes, work.option("known", FILL))


def translate_horses(work: Translation) -> None:
    for row in work.sound_rows():
        name, owners = row.needed("name"), _owners(work, row)
        values = {
            "place": work.named(PLACE, row.text("place"), row, "place"),
            "cycle_weeks": plain(row.whole("cycle_weeks", 1, LONGEST_CYCLE)),
            "next_call": plain(row.day("next_call")),
            "born": plain(row.read("born", read_year, row.reader.locale, row.reader.order_of("born"))),
            "breed": row.text("breed"),
            "cautions": row.text("cautions"),
            "notes": row.text("notes"),
        }
        last_done = row.past_day("last_done")
        if not name or work.is_second(row, "name", (folded(name), frozenset(owners))):
            continue
        found = work.find(HORSE, name, row, "name", work.book.horses_of(name, set(owners)))
        if row.is_sound:
            _add_horse(work, row, name, values, owners, found)
            _add_last_visit(work, row, name, owners, found, values["place"], last_done)


def _owners(work: Translation, row: RowReading) -> dict[str, str]:
    """Return the shares of a horse's owners by their keys. Clients that the book does not have are made."""
    named = row.read("owner", read_owners) or []
    more = {"phone": row.text("owner_phone"), "email": row.text("owner_email")} if len(named) == 1 else {}
    keys = {}
    for name, share in named:
        if key := work.named(CLIENT, name, row, "owner", **more):
            keys[key] = plain(share)
    return keys


def _add_horse(work: Translation, row, name: str, values: dict, owners: dict[str, str], found) -> None:
    codes = {code: code for code in values} | {"name": "name"}
    key = found.key if found else _key_of_horse(work, name, owners)
    if found:
        work.change(HORSE, found, row, values, codes, work.option("known", FILL))
    else:
        work.make(HORSE, key, name, row, {"name": name, **values}, codes)
    if found is None or not work.book.owners_of(found):
        for client, share in owners.items():
            work.add("owners.csv", row, {"horse": key, "client": client, "share": share}, {"share": "owner"})


def _key_of_horse(work: Translation, name: str, owners: dict[str, str]) -> str:
    return str(made_key(work.upload.key, HORSE, folded(name), *sorted(owners)))


def _add_last_visit(
    work: Translation, row, name: str, owners: dict, found, place: str | None, on: date | None
) -> None:
    """Add the visit that a horse was last done on, billed before, unless the book has a later one.

    One visit for all horses of a place and day.
    """
    if on is None or (found and (last := work.book.last_done(found)) and last >= on):
        return
    place = place or (found.place.key if found and found.place else None)
    if not place:
        row.refuse("last_done", "Say where the horse stands, too: what was done last needs a place.")
        return
    said = row.text("last_work")
    service = work.named(
        SERVICE, said or work.option("service", USUAL_WORK), row, "last_work" if said else "last_done"
    )
    visit = str(made_key(work.upload.key, "visit", place, on))
    codes = {"date": "last_done", "visit": "last_done", "place": "place", "service": "last_work"}
    if service and visit not in work.visits:
        work.visits.add(visit)
        values = {"ref": visit, "date": plain(on), "place": place, "status": "done", "billed": "yes"}
        work.add("visits.csv", row, values, codes)
    horse = found.key if found else _key_of_horse(work, name, owners)
    work.add("work.csv", row, {"visit": visit, "horse": horse, "service": service or ""}, codes)
