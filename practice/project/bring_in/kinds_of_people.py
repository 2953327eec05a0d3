"""Sheets of clients, horses and places: their columns, with examples that are made up."""

from practice.project.bring_in.meanings import NOTES, Meaning, SheetKind

ADDRESS = Meaning(
    "address",
    "Address",
    "address, street, street address, mailing address, billing address, address line 1, address line 2",
    "Street and number. The town can be in a separate column.",
    ("12 Millrace Road", "4 Orchard Hill", ""),
    joined_by="\n",
)
TOWN = Meaning(
    "town",
    "Town, state, and zip code",
    "town, city, state, county, zip, zip code, zipcode, postal code, postcode, region, country",
    "Goes on the last line of the address. Each part can be in a separate column.",
    ("Sedge Crossing", "Kiln Bend", ""),
    joined_by=", ",
)


def _phone(code: str, label: str, headings: str) -> Meaning:
    return Meaning(code, label, headings, "Kept exactly as typed.", ("555-0131", "555-0107", ""))


CLIENTS = SheetKind(
    "clients",
    "client",
    "clients",
    "Bring in clients",
    "One row per client: whoever pays you.",
    (
        Meaning(
            "name",
            "Name",
            "name, client, client name, customer, customer name, full name, owner, company, business",
            "A person or a business. First and last names can be in separate columns.",
            ("Wren Halloway", "Twelve Pines Riding Club", "Odell Marsh"),
        ),
        Meaning(
            "first_name",
            "First name",
            "first name, first, given name, forename",
            "Comes before the last name.",
        ),
        Meaning(
            "last_name",
            "Last name",
            "last name, last, surname, family name",
            "Comes after the first name.",
        ),
        _phone(
            "phone", "Phone", "phone, telephone, tel, mobile, cell, cell phone, phone number, mobile phone"
        ),
        Meaning(
            "email",
            "Email",
            "email, e mail, mail, email address",
            "Where invoices go.",
            ("wren@halloway.example", "office@twelvepines.example", ""),
        ),
        ADDRESS,
        TOWN,
        Meaning(
            "payment_terms_days",
            "Days to pay",
            "days to pay, terms, payment terms, net days, due days",
            "A whole number. Leave it blank to use the one in Settings.",
            ("", "30", ""),
        ),
        Meaning(
            "discount",
            "Discount, percent",
            "discount, discount percent, rebate",
            "Off services and materials.",
            ("", "5", ""),
        ),
        Meaning(
            "tax_exempt",
            "Tax exempt",
            "tax exempt, exempt, exempt from tax",
            "Yes or no. A licensed tax preparer decides.",
            ("", "yes", ""),
        ),
        NOTES,
    ),
    (("name", "first_name", "last_name"),),
    "practice:client-list",
)
HORSES = SheetKind(
    "horses",
    "horse",
    "horses",
    "Bring in horses",
    "One row per horse. Owners and places that are not in the book yet are added.",
    (
        Meaning(
            "name",
            "Name",
            "name, horse, horse name, barn name, animal",
            "What the horse is called.",
            ("Bramble", "Juniper", "Old Tom"),
        ),
        Meaning(
            "owner",
            "Owner",
            "owner, owners, owner name, client, customer, client name, second owner, owner 2",
            "A client. Separate several with semicolons, and add their shares if they differ.",
            ("Wren Halloway", "Odell Marsh 60%; Wren Halloway 40%", "Twelve Pines Riding Club"),
            joined_by="; ",
        ),
        _phone(
            "owner_phone", "Owner's phone", "owner phone, owners phone, phone, telephone, tel, mobile, cell"
        ),
        Meaning(
            "owner_email",
            "Owner's email",
            "owner email, owners email, email, e mail, mail",
            "Where the owner's invoices go.",
        ),
        Meaning(
            "place",
            "Place",
            "place, barn, stable, yard, location, stabled at, farm, where, ranch",
            "The barn or yard where it is kept now.",
            ("Lantern Barn", "Lantern Barn", "Gatepost Yard"),
        ),
        Meaning(
            "cycle_weeks",
            "Weeks between visits",
            "weeks between visits, weeks between calls, cycle, weeks, cycle weeks, interval, every,"
            " shoeing cycle, frequency",
            "A whole number. Leave it blank for 6.",
            ("6", "7", "8"),
        ),
        Meaning(
            "last_done",
            "Last done on",
            "last done, last done on, last visit, last shod, last trim, last shoeing, done, last, last date",
            "The day of your last work, so that it comes due on the right day. It is never invoiced.",
            ("2026-10-19", "2026-10-19", ""),
        ),
        Meaning(
            "last_work",
            "What was done then",
            "what was done then, work, service, last work, type, job, trim or shoes, shoeing",
            "Such as Trim or Full set. Work that is not in the book yet is added without a price.",
            ("Full set", "Trim", ""),
        ),
        Meaning(
            "front_shoes",
            "Front shoes",
            "front shoes, fronts, front, front size, fore, fore shoes",
            "The shoe it wears in front, by its name on the truck or its size.",
            ("Plain front 1", "", ""),
        ),
        Meaning(
            "hind_shoes",
            "Hind shoes",
            "hind shoes, hinds, hind, hind size, rear, back shoes",
            "The shoe it wears behind. A shoe that is not on the truck goes in the notes.",
        ),
        Meaning(
            "next_call",
            "Agreed next visit",
            "agreed next visit, next call agreed, next, next due, next visit, next call, due, due date,"
            " next appointment",
            "Only if you agreed on a day. Otherwise it is due by the weeks between visits.",
            ("", "", "2026-12-04"),
        ),
        Meaning(
            "born",
            "Year born",
            "born, year born, year, year of birth, birth year, foaled, dob",
            "A year.",
            ("2014", "", "2001"),
        ),
        Meaning("breed", "Breed", "breed, type of horse", "As you call it.", ("", "Welsh cob", "")),
        Meaning(
            "cautions",
            "Cautions",
            "cautions, caution, warning, warnings, careful, behavior, temperament, danger",
            "What can hurt someone. Shown first on the horse's page.",
            ("", "", "Pulls back when tied."),
            joined_by="\n",
        ),
        NOTES,
    ),
    (("name",),),
    "practice:horse-all",
)
PLACES = SheetKind(
    "places",
    "place",
    "places",
    "Bring in places",
    "One row per barn, yard, or stable.",
    (
        Meaning(
            "name",
            "Name",
            "name, place, barn, barn name, stable, yard, location, farm, place name",
            "What you call it.",
            ("Lantern Barn", "Gatepost Yard", "Saltbox Farm"),
        ),
        ADDRESS,
        TOWN,
        Meaning(
            "phone",
            "Phone",
            "phone, telephone, tel, phone number, barn phone",
            "Of the barn itself.",
            ("", "555-0171", ""),
        ),
        Meaning(
            "gate_code",
            "Gate code",
            "gate code, gate, code, door code, access code",
            "What opens the gate.",
            ("4711#", "", ""),
        ),
        Meaning(
            "area",
            "Tax area",
            "tax area, area, tax zone, tax district",
            "The area in your tax rates, if tax differs from place to place.",
        ),
        Meaning(
            "travel_rate",
            "Travel rate",
            "travel rate, travel charge, call fee, call out, trip charge, travel",
            "Only if it differs from the one in Settings.",
            ("", "", "0.90"),
        ),
        Meaning("latitude", "Latitude", "latitude, lat", "In degrees, such as 41.2.", ("41.25", "", "")),
        Meaning(
            "longitude",
            "Longitude",
            "longitude, lon, lng, long",
            "In degrees, below 0 in the west.",
            ("-93.4", "", ""),
        ),
        NOTES,
    ),
    (("name",),),
    "practice:place-list",
)
