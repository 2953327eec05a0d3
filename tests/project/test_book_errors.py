"""Every kind of error of a book folder: named with file, line and column, and nothing is changed."""

import pytest

from practice.lib.profile import Profile
from practice.models import Client, Visit
from practice.project.book.importer import import_book

pytestmark = pytest.mark.django_db

BASE = {
    "practice.csv": "name,locale,currency,distance_unit,country,travel_rule\nGarrow,en-US,USD,mi,US,none\n",
    "clients.csv": "ref,name\nann,Ann\nben,Ben\n",
    "places.csv": "ref,name\nbarn,Barn\n",
    "horses.csv": "ref,name,place\njuniper,Juniper,barn\n",
    "owners.csv": "horse,client,share,from,to\njuniper,ann,60,,\njuniper,ben,40,,\n",
    "items.csv": "ref,name,kind,unit\nshoe,Shoe,shoe,each\n",
    "services.csv": "ref,name\ntrim,Trim\n",
    "prices.csv": "service,item,from,price\ntrim,,2026-01-01,50\n",
    "vehicles.csv": "ref,name\ntruck,Truck\n",
    "visits.csv": "ref,date,place,status\nv1,2026-10-14,barn,done\nv2,2026-10-15,barn,planned\n",
    "work.csv": "visit,horse,service\nv1,juniper,trim\n",
    "materials.csv": "visit,horse,item,quantity\nv1,juniper,shoe,2\n",
    "legs.csv": "date,vehicle,start_odometer,end_odometer,distance,purpose\n"
    "2026-10-14,truck,100,110,,business\n",
    "purchases.csv": "date,item,quantity,unit_cost\n2026-10-01,shoe,10,3.40\n",
    "invoices.csv": "number,client,issued,due,net,tax,total\nA1,ann,2026-10-14,2026-10-28,30.00,0,30.00\n",
    "payments.csv": "ref,date,client,amount,method\np1,2026-10-20,ann,30,cash\n",
}


def put(folder, **changed):
    """Write the base folder with some files added to (`+` rows) or replaced."""
    folder.mkdir()
    for name, text in (BASE | {name.replace("_csv", ".csv"): text for name, text in changed.items()}).items():
        if isinstance(text, bytes):
            (folder / name).write_bytes(text)
            continue
        base = BASE.get(name, "")
        (folder / name).write_text(base + text[1:] if text.startswith("+") else text, encoding="utf-8")
    return folder


def complaints(folder):
    return [str(problem) for problem in import_book(folder).problems]


CASES = {
    "an unknown file": (
        {"horse_shoes_csv": "ref\n"},
        ["horse_shoes.csv: is not a file of the book"],
    ),
    "an unknown column": (
        {"clients_csv": "ref,name,colour\nann,Ann,red\nben,Ben,blue\n"},
        ["clients.csv:1: colour: is not a column of clients.csv"],
    ),
    "a column twice": (
        {"clients_csv": "ref,name,name\nann,Ann,Ann\nben,B,B\n"},
        ["clients.csv:1: name: appears twice in the header"],
    ),
    "a missing required column": (
        {"places_csv": "ref\nbarn\n"},
        ["places.csv:1: name: is required but missing"],
    ),
    "an empty file": ({"findings_csv": ""}, ["findings.csv:1: has no header row"]),
    "a required value that is blank": (
        {"clients_csv": "+cy,\n"},
        ["clients.csv:4: name: is required but blank"],
    ),
    "a row that is too short": (
        {"clients_csv": "+cy\n"},
        ["clients.csv:4: has 1 value, but the header has 2"],
    ),
    "a quote out of place": (
        {"clients_csv": '+"cy"x,Cy\n'},
        ["clients.csv:4: is not valid CSV (RFC 4180): ',' expected after '\"'"],
    ),
    "a byte that is not UTF-8": (
        {"clients_csv": b"ref,name\nann,Ann\nben,B\xe9n\n"},
        ["clients.csv:3: byte 0xe9 is not UTF-8"],
    ),
    "a ref that points nowhere": (
        {"visits_csv": "+v3,2026-10-16,p99,planned\n"},
        ['visits.csv:4: place: "p99" is not in places.csv'],
    ),
    "a ref twice": (
        {"places_csv": "+barn,Other\n"},
        ['places.csv:3: ref: "barn" appears twice in places.csv'],
    ),
    "a date that is none": (
        {"visits_csv": "+v3,2026-02-30,barn,planned\n"},
        ['visits.csv:4: date: "2026-02-30" is not a date such as 2026-10-14'],
    ),
    "a time that is none": (
        {"visits_csv": "ref,date,place,status,arrive\nv1,2026-10-14,barn,done,9:30\n"},
        ['visits.csv:2: arrive: "9:30" is not a time such as 09:30'],
    ),
    "a number in another notation": (
        {"purchases_csv": '+2026-10-02,shoe,1e3,1\n2026-10-02,shoe,1,"1,5"\n'},
        [
            'purchases.csv:3: quantity: "1e3" is not a number such as 12.5',
            'purchases.csv:4: unit_cost: "1,5" is not a number such as 12.5',
        ],
    ),
    "more than six decimals": (
        {"purchases_csv": "+2026-10-02,shoe,1,0.1234567\n"},
        ['purchases.csv:3: unit_cost: "0.1234567" has more than 6 decimals'],
    ),
    "a distance finer than a tenth": (
        {"legs_csv": "+2026-10-14,truck,,,3.25,personal\n"},
        ['legs.csv:3: distance: "3.25" has more than one decimal'],
    ),
    "an amount finer than the currency": (
        {"payments_csv": "+p2,2026-10-20,ann,30.005,cash\n"},
        ['payments.csv:3: amount: "30.005" has too many decimals for USD (at most 2)'],
    ),
    "an event of nobody": (
        {"life_events_csv": "date,kind,horse,client\n2026-10-14,died,,ann\n2026-10-14,left,juniper,\n"},
        [
            'life_events.csv:2: horse: is required for the kind "died"',
            'life_events.csv:3: horse: must be blank for the kind "left"',
            'life_events.csv:3: client: is required for the kind "left"',
        ],
    ),
    "a quantity that is not above 0": (
        {"materials_csv": "+v1,juniper,shoe,0\n"},
        ['materials.csv:3: quantity: "0" is not above 0'],
    ),
    "a price below 0": (
        {"prices_csv": "+trim,,2026-02-01,-1\n"},
        ['prices.csv:3: price: "-1" is not at least 0'],
    ),
    "a special price for two": (
        {"prices_csv": "service,item,from,price,horse,place\ntrim,,2026-02-01,40,juniper,barn\n"},
        ["prices.csv:2: place: a special price is for a horse, a client, or a place: give one"],
    ),
    "another payer who is none, and one who ends before the beginning": (
        {"bill_to_csv": "horse,client,from,to\njuniper,cy,,\njuniper,ben,2026-06-01,2026-05-31\n"},
        [
            'bill_to.csv:2: client: "cy" is not in clients.csv',
            "bill_to.csv:3: to: 2026-05-31 is before 2026-06-01",
        ],
    ),
    "a choice that is none": (
        {"visits_csv": "+v3,2026-10-16,barn,maybe\n"},
        ['visits.csv:4: status: "maybe" is not one of planned, done, cancelled'],
    ),
    "neither yes nor no": (
        {"clients_csv": "ref,name,archived\nann,Ann,true\nben,Ben,no\n"},
        ['clients.csv:2: archived: "true" is not yes or no'],
    ),
    "a number that leaves the range": (
        {"purchases_csv": "+2026-10-02,shoe,9223372036853,999999999999\n"},
        [
            'purchases.csv:3: quantity: "9223372036853" is too large: it has to be below 1,000,000,000',
            'purchases.csv:3: unit_cost: "999999999999" is too large: it has to be below 1,000,000,000',
        ],
    ),
    "a travel rate that leaves the range": (
        {
            "practice_csv": "name,locale,currency,distance_unit,travel_rule,travel_rate\n"
            "Garrow,en-US,USD,mi,per_visit,999999999999\n"
        },
        ['practice.csv:2: travel_rate: "999999999999" is too large: it has to be below 1,000,000,000'],
    ),
    "a product that leaves the range": (
        {"purchases_csv": "+2026-10-02,shoe,100000,20000\n"},
        [
            "purchases.csv:3: unit_cost: quantity times unit_cost comes to 2,000,000,000:"
            " it has to be below 1,000,000,000"
        ],
    ),
    "a sum that leaves the range": (
        {"payments_csv": "+" + "".join(f"x{n},2026-10-20,ann,999999999,cash\n" for n in range(1001))},
        [
            "payments.csv:1003: amount: all rows together come to 1,000,999,999,029:"
            " they have to stay below 1,000,000,000,000"
        ],
    ),
    "an item worth more than the range": (
        {
            "purchases_csv": "+2026-10-02,shoe,1,900000000\n",
            "counts_csv": "date,item,quantity\n2026-10-03,shoe,900000000\n",
        },
        [
            'counts.csv:2: quantity: "shoe" moves 900,000,013 at up to 900,000,000 each:'
            " more than the book can add up"
        ],
    ),
    "a timestamp at the edge of time": (
        {
            "readings_csv": "date,vehicle,at,reading,recorded_at,changed_at\n"
            "2026-10-14,truck,start,90,0001-01-01T00:00:00+14:00,9999-12-31T23:59:59-14:00\n"
        },
        [
            "readings.csv:2: recorded_at: 0001-01-01T00:00:00+14:00 is not of the years 1900 to 2999",
            "readings.csv:2: changed_at: 9999-12-31T23:59:59-14:00 is not of the years 1900 to 2999",
        ],
    ),
    "a day at the edge of time": (
        {"visits_csv": "+v3,9999-12-31,barn,planned\nv4,0001-01-01,barn,done\n"},
        [
            "visits.csv:4: date: 9999-12-31 is not a day of the years 1900 to 2999",
            "visits.csv:5: date: 0001-01-01 is not a day of the years 1900 to 2999",
        ],
    ),
    "control characters": (
        {"clients_csv": "ref,name,notes\nann,A\x1b[2Jnn,tab\tand line\x0b\nben,Ben,\x85\nc\x00y,Cy,\n"},
        [
            "clients.csv:2: name: contains the character U+001B; take it out",
            "clients.csv:2: notes: contains the character U+000B; take it out",
            "clients.csv:3: notes: contains the character U+0085; take it out",
            "clients.csv:4: ref: contains the character U+0000; take it out",
        ],
    ),
    "a lone surrogate": (
        {"clients_csv": b"ref,name\nann,Ann\nben,B\xed\xa0\x80n\n"},
        ["clients.csv:3: byte 0xed is not UTF-8"],
    ),
    "a value without an end": (
        {"clients_csv": "+cy," + "x" * 1_000_001 + "\n"},
        ["clients.csv:4: has a value of more than 1,000,000 characters"],
    ),
    "a number of 5,000 digits": (
        {"work_csv": "visit,horse,service,quantity\nv1,juniper,trim," + "9" * 5000 + "\n"},
        [f'work.csv:2: quantity: "{"9" * 60}…" is not a number such as 12.5'],
    ),
    "an unknown currency and language": (
        {"practice_csv": "name,locale,currency,distance_unit\nG,xx-YY,ABC,mi\n"},
        [
            'practice.csv:2: locale: "xx-YY" is not a language such as en-US',
            'practice.csv:2: currency: "ABC" is not a currency such as USD',
        ],
    ),
    "shares that do not make 100": (
        {"owners_csv": "horse,client,share,from\njuniper,ann,60,\njuniper,ben,30,\n"},
        ["owners.csv:3: share: the shares of juniper add up to 90, not 100"],
    ),
    "shares that do not make 100 from a day on": (
        {"owners_csv": "horse,client,share,from\njuniper,ann,100,\njuniper,ben,10,2026-05-01\n"},
        ["owners.csv:3: share: the shares of juniper add up to 110 from 2026-05-01, not 100"],
    ),
    "a price of nothing": (
        {"prices_csv": "+,,2026-02-01,1\n"},
        ["prices.csv:3: service: give either a service or an item"],
    ),
    "a service level of 1": (
        {"items_csv": "ref,name,kind,unit,service_level\nshoe,Shoe,shoe,each,1\n"},
        ['items.csv:2: service_level: "1" is more than 0.999999'],
    ),
    "a visit that is planned and billed": (
        {"visits_csv": "ref,date,place,status,billed\nv1,2026-10-14,barn,planned,yes\n"},
        ["visits.csv:2: billed: a planned visit cannot be billed yet"],
    ),
    "a leg that its readings contradict": (
        {"legs_csv": "+2026-10-14,truck,110,120,9,business\n"},
        ["legs.csv:3: distance: 9 does not match the odometer readings: 10"],
    ),
    "a leg without a distance": (
        {"legs_csv": "+2026-10-14,truck,,,,business\n"},
        ["legs.csv:3: distance: is required unless both odometer readings are given"],
    ),
    "a leg that overlaps": (
        {"legs_csv": "+2026-10-14,truck,105,120,,business\n"},
        [
            "legs.csv:3: start_odometer: 105 on 2026-10-14 is lower than 110, the odometer after the readings"
            " and legs up to 2026-10-14"
        ],
    ),
    "a reading lower than the last": (
        {"readings_csv": "date,vehicle,at,reading\n2026-10-15,truck,start,90\n"},
        [
            "readings.csv:2: reading: 90 on 2026-10-15 is lower than 110, the odometer after the readings"
            " and legs up to 2026-10-14"
        ],
    ),
    "a reading twice": (
        {"readings_csv": "date,vehicle,at,reading\n2026-10-15,truck,end,190\n2026-10-15,truck,end,191\n"},
        ['readings.csv:3: "2026-10-15, truck, end" appears twice in readings.csv'],
    ),
    "a return of more than was used": (
        {
            "stock_facts_csv": "date,item,kind,quantity,visit,horse\n"
            "2026-10-20,shoe,visit return,3,v1,juniper\n"
        },
        ["stock_facts.csv:2: quantity: 3 returned in all, but only 2 used at this visit"],
    ),
    "a return on the day of its use": (
        {
            "stock_facts_csv": "date,item,kind,quantity,visit,horse\n"
            "2026-10-14,shoe,visit return,1,v1,juniper\n"
        },
        ["stock_facts.csv:2: date: a return must be dated after its use on 2026-10-14"],
    ),
    "a transfer to nowhere": (
        {"stock_facts_csv": "date,item,kind,quantity\n2026-10-20,shoe,transfer,1\n"},
        ['stock_facts.csv:2: to_location: is required for the kind "transfer"'],
    ),
    "a reversal of nothing": (
        {"stock_facts_csv": "date,item,kind,quantity,reverses\n2026-10-20,shoe,reversal,1,receipt\n"},
        ["stock_facts.csv:2: reverses: the book has no such receipt to reverse"],
    ),
    "an invoice that does not add up": (
        {"invoices_csv": "+A2,ann,2026-10-14,2026-10-28,30.00,1,30.00\n"},
        ["invoices.csv:3: total: 30.00 is not net 30.00 plus tax 1"],
    ),
    "an invoice that is not its lines": (
        {
            "invoice_lines_csv": "invoice,client,kind,visit,horse,code,quantity,unit_price,share,net\n"
            "A1,ann,service,v1,juniper,trim,1,50,60,29.00\n"
        },
        ["invoices.csv:2: net: 30.00 does not match its lines, which add up to 29.00"],
    ),
    "a line of a visit that is not done": (
        {
            "invoice_lines_csv": "invoice,client,kind,visit,horse,code,quantity,unit_price,share,net\n"
            "A1,ann,service,v2,juniper,trim,1,50,60,30.00\n"
        },
        ['invoice_lines.csv:2: visit: "v2" is planned; only a done visit can be billed'],
    ),
    "a line of an unknown service": (
        {
            "invoice_lines_csv": "invoice,client,kind,visit,horse,code,quantity,unit_price,share,net\n"
            "A1,ann,service,v1,juniper,xx,1,50,60,30.00\n"
        },
        ['invoice_lines.csv:2: code: "xx" is not in services.csv'],
    ),
    "a payment of another clients invoice": (
        {"payments_csv": "ref,date,client,amount,method,invoice\np1,2026-10-20,ben,30,cash,A1\n"},
        ['payments.csv:2: invoice: "A1" belongs to another client'],
    ),
    "a tip that is more than the payment": (
        {"payments_csv": "ref,date,client,amount,method,tip\np1,2026-10-20,ann,30,cash,31\n"},
        ["payments.csv:2: tip: The tip is part of the amount: enter 0 up to the amount."],
    ),
    "a settlement that the book does not arrive at": (
        {"settlements_csv": "payment,invoice,date,amount\np1,A1,2026-10-20,29.00\n"},
        ["settlements.csv:2: is not a settlement that the book works out"],
    ),
    "a ledger that the book does not arrive at": (
        {
            "stock_movements_csv": "date,item,kind,quantity,cost,on_hand,value\n"
            "2026-10-01,shoe,receipt,10,34,10,35\n"
        },
        ["stock_movements.csv:2: is not a row of the ledger that the book works out"],
    ),
}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_an_error_names_its_place_and_nothing_is_changed(case, tmp_path):
    changed, expected = case

    assert complaints(put(tmp_path / "book", **changed)) == expected

    assert (Profile.objects.count(), Client.objects.count(), Visit.objects.count()) == (0, 0, 0)


def test_the_base_of_these_cases_is_sound(tmp_path):
    assert complaints(put(tmp_path / "book")) == []


def test_every_error_is_told_in_one_go_by_file_and_line(tmp_path):
    folder = put(
        tmp_path / "book",
        visits_csv="+v3,2026-10-16,p99,maybe\n",
        clients_csv="+cy,\n",
        payments_csv="+p2,x,zoe,1,cash\n",
    )

    assert complaints(folder) == [
        "clients.csv:4: name: is required but blank",
        'visits.csv:4: place: "p99" is not in places.csv',
        'visits.csv:4: status: "maybe" is not one of planned, done, cancelled',
        'payments.csv:3: date: "x" is not a date such as 2026-10-14',
        'payments.csv:3: client: "zoe" is not in clients.csv',
    ]
