"""Expense categories and where the US form asks for them (Schedule C, current layout)."""

# By the book's contract; lines change places between editions of the form, so a preparer decides.
LINES = {
    "advertising": "8",
    "commissions": "10",
    "contract labor": "11",
    "insurance": "15",
    "interest": "16b",
    "legal and professional": "17",
    "office": "18",
    "rent": "20b",
    "repairs and maintenance": "21",
    "supplies": "22",
    "tools and equipment": "22 ask: may be depreciated",
    "taxes and licenses": "23",
    "travel": "24a",
    "meals": "24b",
    "utilities": "25",
    "education": "Part V",
    "card fees": "Part V",
    "vehicle fuel": "9 actual method only",
    "vehicle repairs": "9 actual method only",
    "vehicle insurance": "9 actual method only",
    "vehicle registration": "9 actual method only",
    "vehicle lease": "20a actual method only",
    "parking and tolls": "9",
    "other": "Part V",
}
# What the actual-cost method takes; parking and tolls come on top of either method.
VEHICLE_COSTS = (
    "vehicle fuel",
    "vehicle repairs",
    "vehicle insurance",
    "vehicle registration",
    "vehicle lease",
)
PARKING_AND_TOLLS = "parking and tolls"
OF_A_VEHICLE = (*VEHICLE_COSTS, PARKING_AND_TOLLS)


def schedule_c_line(category: str, country: str) -> str:
    """Return the line of Schedule C for a category; blank outside the United States."""
    return LINES[category] if country == "US" else ""
