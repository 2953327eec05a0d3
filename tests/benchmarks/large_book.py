"""A folder of CSV files with a book of many years: 8 stops on 250 days a year, two horses each."""

import csv
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from pathlib import Path

FIRST_YEAR, DAYS_A_YEAR, STOPS, CLIENTS, PLACES, ITEMS, USES = 2006, 250, 8, 200, 15, 50, 3
BEGIN = f"{FIRST_YEAR}-01-01"
HEADERS = {
    "practice": "name,locale,currency,distance_unit,country",
    "clients": "ref,name",
    "places": "ref,name",
    "horses": "ref,name,place",
    "owners": "horse,client,share",
    "items": "ref,name,kind,unit",
    "services": "ref,name,minutes",
    "prices": "service,from,price",
    "vehicles": "ref,name",
    "visits": "ref,date,place,status,arrive,leave,vehicle",
    "work": "visit,horse,service,note",
    "materials": "visit,horse,item,quantity",
    "readings": "date,vehicle,at,reading",
    "legs": "date,vehicle,distance,purpose,origin,destination,visit",
    "purchases": "date,item,quantity,unit_cost,paid_on",
    "invoices": "number,client,issued,due,net,tax,total",
    "invoice_lines": "invoice,client,kind,visit,horse,code,quantity,unit_price,share,net",
    "payments": "ref,date,client,amount,method",
}


def write_large_book(folder: Path, years: int) -> int:
    """Write the book; return how many rows it has. A year is 2,000 visits and some 26,000 rows."""
    folder.mkdir()
    days = [
        date(FIRST_YEAR + year, 1, 1) + timedelta(days=day * 365 // DAYS_A_YEAR)
        for year in range(years)
        for day in range(DAYS_A_YEAR)
    ]
    rows = 0
    for name, table in {**standing(), **of_days(days), **of_stops(days)}.items():
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(HEADERS[name].split(","))
            for row in table:
                writer.writerow(row)
                rows += 1
    return rows


def standing() -> dict[str, Iterable[tuple]]:
    """What does not grow with the years."""
    horses = range(2 * CLIENTS)
    return {
        "practice": [("Quill Farriery", "en-US", "USD", "mi", "US")],
        "clients": [(f"c{n}", f"Client {n}") for n in range(CLIENTS)],
        "places": [(f"p{n}", f"Barn {n}") for n in range(PLACES)],
        "horses": [(f"h{n}", f"Horse {n}", f"p{n % PLACES}") for n in horses],
        "owners": [(f"h{n}", f"c{n // 2}", 100) for n in horses],
        "items": [(f"i{n}", f"Shoe {n}", "shoe", "each") for n in range(ITEMS)],
        "services": [("trim", "Trim", 30)],
        "prices": [("trim", BEGIN, "50.00")],
        "vehicles": [("truck", "Truck")],
    }


def of_days(days: list[date]) -> dict[str, Iterable[tuple]]:
    """The odometer morning and evening, and deliveries: every twelfth day of each item."""
    return {
        "readings": (
            (day, "truck", at, 40 * (number + (at == "end")))
            for number, day in enumerate(days)
            for at in ("start", "end")
        ),
        "purchases": (
            (day, f"i{item}", 6, f"3.{item:02d}", day + timedelta(12))
            for number, day in enumerate(days)
            for item in range(ITEMS)
            if (number + item) % 12 == 0
        ),
    }


def of_stops(days: list[date]) -> dict[str, Iterable[tuple]]:
    """Each stop: a client's two horses trimmed, what they took, two drives, an invoice, and its payment."""

    def stops() -> Iterator[tuple[int, date, int]]:
        return ((n, day, n % CLIENTS) for n, day in enumerate(day for day in days for _ in range(STOPS)))

    fortnight = timedelta(14)
    return {
        "visits": (
            (f"v{n}", day, f"p{n % PLACES}", "done", "09:00", "10:00", "truck") for n, day, _ in stops()
        ),
        "work": ((f"v{n}", f"h{2 * c + k}", "trim", "") for n, _, c in stops() for k in (0, 1)),
        "materials": (
            (f"v{n}", f"h{2 * c}", f"i{(n + k * 7) % ITEMS}", 1) for n, _, c in stops() for k in range(USES)
        ),
        "legs": (
            (day, "truck", "2.5", "business", origin, f"Barn {n % PLACES}", f"v{n}")
            for n, day, _ in stops()
            for origin in ("Home", "Corner")
        ),
        "invoices": (
            (f"L-{n:06d}", f"c{c}", day, day + fortnight, "100.00", "0.00", "100.00") for n, day, c in stops()
        ),
        "invoice_lines": (
            (f"L-{n:06d}", f"c{c}", "service", f"v{n}", f"h{2 * c + k}", "trim", 1, 50, 100, "50.00")
            for n, _, c in stops()
            for k in (0, 1)
        ),
        "payments": ((f"m{n}", day + fortnight, f"c{c}", "100.00", "check") for n, day, c in stops()),
    }
