"""What the demo practice does and carries: services, shoes, nails and the rest, with what they cost.

Prices, minutes and sizes are common practice, no source.
"""

from decimal import Decimal

# ref, name, minutes, resets the cycle, new shoes, feet nailed, fitted, price a year ago, price now.
# Minutes: 20 a foot shod hot, 17 cold, 15 for a reset, 30 glued; 8 a foot trimmed.
SERVICES = [
    ("trim", "Trim", 32, "yes", 0, 0, "", "52", "55"),
    ("reset", "Reset", 60, "yes", 0, 4, "cold", "132", "140"),
    ("fronts-hot", "Fronts, hot-fitted", 56, "yes", 2, 2, "hot", "165", "175"),
    ("fronts-cold", "Fronts, cold-fitted", 50, "yes", 2, 2, "cold", "150", "160"),
    ("fronts-glue", "Fronts, glue-on", 76, "yes", 2, 0, "", "235", "250"),
    ("full-hot", "Full set, hot-fitted", 80, "yes", 4, 4, "hot", "245", "260"),
    ("full-cold", "Full set, cold-fitted", 68, "yes", 4, 4, "cold", "228", "240"),
    ("lost", "Lost shoe", 20, "no", 1, 1, "cold", "42", "45"),
    ("follow-up", "Follow-up", 15, "no", 0, 0, "", "0", "0"),
]
MINUTES = {service[0]: service[2] for service in SERVICES}
HOT_FEET = {service[0]: service[4] for service in SERVICES if service[6] == "hot"}

SIZES = ["000", "00", "0", "1", "2", "3", "4", "5"]
# Kept in pairs, not in boxes of ten.
PAIRS = ("000", "00", "4", "5")

# ref of the pattern, fits, name, pattern, clips, material, sizes, cost of a No 1, sale price beyond the work
SHOES = [
    ("plain", "front", "Plain front", "plain", "", "", SIZES, "3.10", ""),
    ("toe-clip", "front", "Plain front, toe clip", "plain", "toe clip", "", SIZES[2:7], "3.85", ""),
    ("plain", "hind", "Plain hind", "plain", "", "", SIZES, "3.00", ""),
    ("side-clip", "hind", "Plain hind, side clips", "plain", "side clips", "", SIZES[2:7], "4.35", ""),
    ("bar", "front", "Straight bar front", "straight bar", "", "", SIZES[2:5], "9.80", "15.00"),
    ("aluminum", "front", "Plain front, aluminum", "plain", "", "aluminum", SIZES[2:6], "7.60", "8.00"),
    ("glue-on", "front", "Glue-on front", "glue-on", "", "aluminum", SIZES[2:5], "21.00", ""),
]
SOLD_BY_THE_PAIR = ("bar", "aluminum", "glue-on")
SIZES_KEPT = {(shoe[0], shoe[1]): shoe[6] for shoe in SHOES}
# A shoe costs so much more for each size above No 1, and less below.
A_SIZE = Decimal("0.06")

# ref and name of the head, sizes, cost of one
NAILS = [("slim", ["3", "4", "5"], "0.082"), ("regular", ["5", "6", "8"], "0.091")]
NAILS_OF = {
    "000": ["slim-3"],
    "00": ["slim-3", "slim-4"],
    "0": ["slim-4"],
    "1": ["slim-4", "slim-5"],
    "2": ["slim-5"],
    "3": ["regular-5", "regular-6"],
    "4": ["regular-6"],
    "5": ["regular-8"],
}

# ref, name, kind, pattern, size, unit, pack, cost, sale price, taxable
OTHERS = [
    ("pad-leather-1", "Leather pad, No 1", "pad", "leather", "1", "each", "10", "4.80", "14.00", "yes"),
    ("pad-leather-2", "Leather pad, No 2", "pad", "leather", "2", "each", "10", "5.10", "14.00", "yes"),
    ("pad-wedge-1", "Wedge pad, No 1", "pad", "wedge", "1", "each", "2", "6.40", "17.00", "yes"),
    ("pad-wedge-2", "Wedge pad, No 2", "pad", "wedge", "2", "each", "2", "6.70", "17.00", "yes"),
    ("packing", "Hoof packing", "packing", "", "", "each", "12", "3.20", "9.50", "yes"),
    ("sealant", "Sole sealant", "sealant", "", "", "ml", "473", "0.045", "0.12", "yes"),
    ("adhesive", "Shoe adhesive", "adhesive", "", "", "ml", "200", "0.14", "0.40", "yes"),
    ("stud", "Drive-in studs", "stud", "drive-in", "", "each", "20", "0.95", "3.00", "yes"),
    ("bar", "Bar stock, 3/4 × 3/8", "bar stock", "", "", "each", "5", "11.40", "", "no"),
    ("gas", "Forge gas, 20 lb cylinder", "fuel", "", "", "each", "1", "21.00", "", "no"),
]
# Hot-fitted feet that a cylinder of gas lasts for, and milliliters of adhesive in a glued shoe.
FEET_A_CYLINDER, ADHESIVE_A_SHOE = 50, Decimal(45)
# Nails in one shoe, and studs in a hind one.
NAILS_A_SHOE, STUDS_A_SHOE = Decimal(6), Decimal(2)


def shoe_cost(base: str, size: str) -> Decimal:
    """Return what a shoe of a size costs, to the cent, from the cost of its No 1."""
    steps = SIZES.index(size) - SIZES.index("1")
    return (Decimal(base) * (1 + A_SIZE * steps)).quantize(Decimal("0.01"))


def pad_size(shoe_size: str) -> str:
    return "2" if SIZES.index(shoe_size) >= SIZES.index("2") else "1"
