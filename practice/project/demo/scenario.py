"""The invented scenario of the demo practice: Marrack Farriery in Tarn County. Nobody in it exists."""

SCHOOL = "Twelve Oak Riding School"
SCHOOL_NOTE = "Lessons until 4. Shoe in the wash stall, not in the aisle."
LOOSE_DOG = "Loose dog. Honk before you get out."
STEEP = "Steep drive. Turn around at the top, not at the barn."

VET = "Dr. Ansel Brackwater"

PRACTICE = {
    "name": "Marrack Farriery",
    "home_statement": "The books are kept, rounds are planned and shoes are stored at home. There is no other"
    " office.",
    "address": "4 Tongs Row\nEmber Ford, Tarn County",
    "email": "isolde@marrack.example",
    "phone": "555-0142",
    "registration_number": "TC 0417",
    "locale": "en-US",
    "currency": "USD",
    "distance_unit": "mi",
    "country": "US",
    "invoice_prefix": "MF",
    "payment_terms_days": "14",
    "home_latitude": "41.2",
    "home_longitude": "-93.4",
    "lead_time_days": "7",
    "review_period_days": "7",
    "travel_rule": "per_distance",
    "travel_rate": "0.85",
    "set_aside_percent": "25",
    "vet_name": VET,
    "vet_phone": "555-0178",
    "pay_note": "At the barn: cash or check, at the next visit\n"
    "By mail: check to Marrack Farriery, 4 Tongs Row, Ember Ford",
}

# name, tax area, miles east and north of home, street, town, note
GATE_CODES = {"Broken Gate Stables": "4417"}
PLACES = [
    ("Quillfeather Farm", "Tarn", 6, 4, "118 Quillfeather Road", "Sedge Crossing, Tarn County", ""),
    ("Broken Gate Stables", "Tarn", -5, 7, "2240 Gatepost Road", "Kiln Bend, Tarn County", ""),
    ("Saltbox Meadow", "Tarn", 9, -3, "75 Saltbox Lane", "Sedge Crossing, Tarn County", ""),
    ("Old Kiln Yard", "Tarn", -2, -8, "9 Brickyard Lane", "Kiln Bend, Tarn County", ""),
    ("Sedgewater Barn", "Tarn", 12, 6, "640 Sedgewater Road", "Sedge Crossing, Tarn County", LOOSE_DOG),
    ("Fiddler's Rise", "Tarn", -11, 2, "31 Fiddler's Rise", "Ember Ford, Tarn County", ""),
    (SCHOOL, "Tarn", 4, 13, "1200 Twelve Oak Drive", "Quarrel Creek, Tarn County", SCHOOL_NOTE),
    ("Plum Hollow", "Tarn", -7, -6, "508 Plum Hollow Road", "Ember Ford, Tarn County", ""),
    ("Lantern Ridge", "Tarn", 15, -7, "3315 Lantern Ridge Road", "Quarrel Creek, Tarn County", STEEP),
    ("Copperbeck Stables", "Lower Tarn", -14, -10, "87 Copperbeck Lane", "Copperbeck, Tarn County", ""),
    ("Wren's Acre", "Lower Tarn", -9, -15, "16 Wren's Acre Lane", "Wren Bottoms, Tarn County", ""),
    ("Stonecrop Lane", "Lower Tarn", 2, -17, "402 Stonecrop Lane", "Wren Bottoms, Tarn County", ""),
    ("Hollis End", "", 22, 3, "1 Hollis End Road", "Hollis End, Quill County", ""),
    ("Mistletoe Yard", "", 19, 14, "950 Mistletoe Road", "Hollis End, Quill County", ""),
    ("Barrow Paddocks", "", -18, 11, "77 Paddock Lane", "Barrow Flats, Marl County", ""),
]

# Where clients live, in turn: one after the other takes the next street and the next town.
STREETS = [
    "Meadow Road",
    "Tollhouse Lane",
    "Anvil Street",
    "Millrace Road",
    "Orchard Hill Road",
    "Old Ferry Road",
]
TOWNS = [
    "Ember Ford, Tarn County",
    "Sedge Crossing, Tarn County",
    "Kiln Bend, Tarn County",
    "Ember Ford, Tarn County",
    "Quarrel Creek, Tarn County",
    "Copperbeck, Tarn County",
    "Wren Bottoms, Tarn County",
    "Hollis End, Quill County",
    "Barrow Flats, Marl County",
]

CLIENTS = [
    "Odile Fenwright",
    SCHOOL,
    "Bram Tessaly",
    "Ursa Kettlewick",
    "Pell Arundine",
    "Hester Quaymoor",
    "Ludo Vanterpool-Reeve",
    "Maud Ashgrain",
    "Corin Saltmarsh",
    "Idony Breck",
    "Tamsin Orrelby",
    "Jory Hallowfen",
    "Wilmet Strand",
    "Petroc Larkham-Dale",
    "Sunniva Ottersby",
    "Alaric Penhollow",
    "Merrin Tolgate",
    "Osric Dunfallow",
    "Linnea Marchbanke-Roe",
    "Cass Thornleigh-Webbe",
    "Barnaby Iremonge",
    "Elowen Rusk-Tarrant",
    "Gideon Marlstone",
    "Posy Wetherlane",
    "Tarn County Mounted Search",
]

HORSES = [
    "Tinder",
    "Sorrel Jack",
    "Bellwether",
    "Nimbus",
    "Pepperpot",
    "Old Fathom",
    "Quickstep",
    "Marrow",
    "Juno Grey",
    "Thimble",
    "Cobnut",
    "Ravenel",
    "Sixpence",
    "Dapple Ann",
    "Harrier",
    "Moth",
    "Bracken Boy",
    "Velvet",
    "Toffee Tin",
    "Gloaming",
    "Ferryman",
    "Pippin",
    "Sable Rose",
    "Tumbler",
    "Wicket",
    "Larksong",
    "Ironside",
    "Damson",
    "Puffin",
    "Muddle",
    "Starling",
    "Cricket Ball",
    "Hazelwand",
    "Barley",
    "Tansy",
    "Copperplate",
    "Dumpling",
    "Merrylegs Two",
    "Nutkin",
    "Skylark",
    "Bosun",
    "Clover Honey",
    "Rocket",
    "Duchess of Tarn",
    "Wisp",
    "Grindle",
    "Fiddlestick",
    "Midge",
    "Saffron",
    "Tolly",
    "Umber",
    "Vesper",
    "Willowby",
    "Yarrow",
    "Zephyrine",
    "Acorn",
    "Bluebottle",
    "Candlewick",
    "Dodger",
    "Elderflower",
]

# What each breed wears in front: common practice, no source.
SIZES_OF = {
    "Quarter Horse": ["0", "1"],
    "Thoroughbred": ["1", "2"],
    "Morgan": ["0", "1"],
    "Arabian": ["0", "1"],
    "Welsh Cob": ["0", "1", "2"],
    "draft cross": ["3", "4", "5"],
    "pony": ["000", "00"],
    "warmblood": ["2", "3"],
}

CAUTIONS = {
    3: "Kicks behind. Stand to the side.",
    17: "Pulls back when tied. Have somebody hold her.",
    29: "Needle-shy. Only the vet sedates him.",
    41: "Bites when you reach under. Keep her head turned.",
}

HORSE_NOTES = {
    "bar": "Straight bars in front, set with the vet. Call the clinic before going back to plain.",
    "wedge": "Wedge pads in front, set with the vet. Call the clinic before changing them.",
    "aluminum": "Aluminum in front for the show ring.",
    "glue-on": "Front walls won't hold a nail. Glue-ons until they grow down.",
    "studs": "Ridden on pavement. Drive-in studs behind, November through March.",
}
SIZE_UP = "Feet have spread. Went up a size."
SIZE_DOWN = "Toes came back. Went down a size."
RED, FINDING = "red or purple sole", "The size of a quarter. Showed the owner."
BURNED = "Burned it thin in the fire."
NOBODY_THERE = "Nobody there, and no answer on the phone. Waited twenty minutes."
REFERRED = "You sent us a client: thank you"
ORDER_NOTE = "Please call before you deliver."

SUPPLIER = "Tarn Iron and Nail"
# Who helps, and what a day of help costs: common practice, no source.
HELPER, HELP_A_DAY = "Rafe Tolliver-Quist", "140.00"
