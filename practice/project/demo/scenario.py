"""The invented scenario of the demo practice: Marrack Farriery in Tarn County. Nobody in it exists."""

from decimal import Decimal

PRACTICE = {
    "name": "Marrack Farriery",
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
    "pay_note": "At the barn: cash or check, at the next call\n"
    "By mail: check to Marrack Farriery, 4 Tongs Row, Ember Ford",
}

# name, area, miles east and north of home
PLACES = [
    ("Quillfeather Farm", "Tarn", 6, 4),
    ("Broken Gate Stables", "Tarn", -5, 7),
    ("Saltbox Meadow", "Tarn", 9, -3),
    ("Old Kiln Yard", "Tarn", -2, -8),
    ("Sedgewater Barn", "Tarn", 12, 6),
    ("Fiddler's Rise", "Tarn", -11, 2),
    ("Twelve Oak Riding School", "Tarn", 4, 13),
    ("Plum Hollow", "Tarn", -7, -6),
    ("Lantern Ridge", "Tarn", 15, -7),
    ("Copperbeck Stables", "Lower Tarn", -14, -10),
    ("Wren's Acre", "Lower Tarn", -9, -15),
    ("Stonecrop Lane", "Lower Tarn", 2, -17),
    ("Hollis End", "", 22, 3),
    ("Mistletoe Yard", "", 19, 14),
    ("Barrow Paddocks", "", -18, 11),
]

CLIENTS = [
    "Odile Fenwright",
    "Twelve Oak Riding School",
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

BREEDS = [
    "Quarter Horse",
    "Thoroughbred",
    "Morgan",
    "Arabian",
    "Welsh Cob",
    "draft cross",
    "pony",
    "warmblood",
]

CAUTIONS = {
    3: "Kicks, left hind. Needs a second person.",
    17: "Pulls back when tied. Hold in hand.",
    29: "Needle-shy; sedated by the veterinarian only.",
    41: "Bites when girthed. Keep the head turned.",
}

# ref, name, minutes, resets the cycle, new shoes, feet nailed, fitted, price a year ago, price now.
# Minutes by foot and prices: common practice, no source.
SERVICES = [
    ("trim", "Trim", 32, "yes", 0, 0, "", "52", "55"),
    ("reset", "Reset", 60, "yes", 0, 4, "cold", "132", "140"),
    ("fronts-hot", "Fronts, hot-fitted", 60, "yes", 2, 2, "hot", "165", "175"),
    ("fronts-cold", "Fronts, cold-fitted", 50, "yes", 2, 2, "cold", "150", "160"),
    ("full-hot", "Full set, hot-fitted", 95, "yes", 4, 4, "hot", "245", "260"),
    ("full-cold", "Full set, cold-fitted", 85, "yes", 4, 4, "cold", "228", "240"),
    ("lost", "Lost shoe", 20, "no", 0, 1, "cold", "42", "45"),
    ("follow-up", "Follow-up", 15, "no", 0, 0, "", "0", "0"),
]

SHOES = [
    ("plain", "front", ["00", "0", "1", "2", "3", "4"]),
    ("toe-clip", "front", ["0", "1", "2", "3"]),
    ("plain", "hind", ["00", "0", "1", "2", "3"]),
    ("side-clip", "hind", ["0", "1", "2"]),
]
NAILS = [("slim", ["4", "5", "6"]), ("regular", ["5", "6"])]

# ref, name, kind, pattern, size, unit, pack, cost, sale price, taxable
OTHERS = [
    ("pad-leather-1", "Leather pad, No 1", "pad", "leather", "1", "each", "10", "4.80", "14.00", "yes"),
    ("pad-leather-2", "Leather pad, No 2", "pad", "leather", "2", "each", "10", "5.10", "14.00", "yes"),
    ("packing", "Hoof packing", "packing", "", "", "each", "12", "3.20", "9.50", "yes"),
    ("sealant", "Sole sealant", "sealant", "", "", "ml", "473", "0.045", "0.12", "yes"),
    ("adhesive", "Shoe adhesive", "adhesive", "", "", "ml", "200", "0.14", "0.40", "yes"),
    ("stud", "Road studs", "stud", "road", "", "each", "20", "0.95", "3.00", "yes"),
    ("bar", "Bar stock, 3/4 × 3/8", "bar stock", "", "", "each", "5", "11.40", "", "no"),
    ("gas", "Forge gas", "fuel", "", "", "each", "1", "21.00", "", "no"),
]

SHOE_COST = Decimal("3.40")
NAIL_COST = Decimal("0.082")
