"""What the demo practice is like, told from its rows alone. Figures: common practice, no source."""

from collections import Counter, defaultdict
from datetime import date, timedelta
from decimal import Decimal
from types import SimpleNamespace

import pytest

from billing.actions.receipts import clean_receipt
from practice.project.demo.factories import restart
from practice.project.demo.paying import payments
from practice.project.demo.receipts import pictures
from practice.project.demo.season import make_season
from tests.pictures import opened

D = Decimal
TODAY = date(2026, 11, 26)
SEEDS = (1, 2, 5)
HOT, COLD, RESET, GLUED, TRIMMED = 20, 17, 15, 30, 8
MINUTES = {
    "trim": 4 * TRIMMED,
    "reset": 4 * RESET,
    "fronts-hot": 2 * HOT + 2 * TRIMMED,
    "fronts-cold": 2 * COLD + 2 * TRIMMED,
    "fronts-glue": 2 * GLUED + 2 * TRIMMED,
    "full-hot": 4 * HOT,
    "full-cold": 4 * COLD,
    "lost": 20,
    "follow-up": 15,
}


@pytest.fixture(scope="module", params=SEEDS, ids=[f"seed-{seed}" for seed in SEEDS])
def rows(request):
    return make_season(1, request.param, TODAY)


def by_ref(table: list[dict]) -> dict[str, dict]:
    return {row["ref"]: row for row in table}


def day_of(row: dict) -> date:
    return date.fromisoformat(row["date"])


def done(rows) -> list[dict]:
    return [row for row in rows["visits.csv"] if row["status"] == "done"]


def minutes_of(time: str) -> int:
    hours, minutes = time.split(":")
    return 60 * int(hours) + int(minutes)


def used(rows) -> list[tuple[dict, dict, dict]]:
    """Every use of material: the use, its item and its horse."""
    items, horses = by_ref(rows["items.csv"]), by_ref(rows["horses.csv"])
    return [(use, items[use["item"]], horses[use["horse"]]) for use in rows["materials.csv"]]


def costs(rows) -> dict[str, Decimal]:
    """What one of each item cost on the opening shelf."""
    return {row["item"]: D(row["unit_cost"]) for row in rows["counts.csv"] if row.get("unit_cost")}


def test_a_service_takes_its_minutes_a_foot(rows):
    assert {row["ref"]: int(row["minutes"]) for row in rows["services.csv"]} == MINUTES


def test_a_stop_lasts_as_long_as_its_work(rows):
    """A tenth more or less for the work, four to nine minutes to set up."""
    work = Counter()
    for row in rows["work.csv"]:
        work[row["visit"]] += MINUTES[row["service"]]
    spent = {row["ref"]: minutes_of(row["leave"]) - minutes_of(row["arrive"]) for row in done(rows)}

    assert min(work.values()) > 0 and spent.keys() == work.keys()
    assert all(0.89 * work[ref] + 3 <= minutes <= 1.11 * work[ref] + 10 for ref, minutes in spent.items())
    assert len(set(spent.values())) > 50


def test_the_stops_of_a_day_follow_each_other_and_end_by_evening(rows):
    days = defaultdict(list)
    for row in done(rows):
        days[row["date"]].append((int(row["position"]), row["arrive"], row["leave"]))

    for stops in days.values():
        stops.sort()
        assert all(before[2] < after[1] for before, after in zip(stops, stops[1:], strict=False))
    assert "15:00" < max(row["leave"] for row in done(rows)) < "19:00"


def test_ponies_wear_pony_sizes_and_nobody_else_does(rows):
    sizes = defaultdict(set)
    for _, item, horse in used(rows):
        if item["kind"] == "shoe":
            sizes[horse["breed"] == "pony"].add(item["size"])

    assert sizes[True] and sizes[True] <= {"000", "00"}
    assert sizes[False].isdisjoint({"000", "00"})


def test_a_shoe_costs_by_its_pattern_clips_material_and_size(rows):
    cost = costs(rows)
    number_1 = {
        (item["pattern"], item["clips"], item["material"], item["fits"]): cost[item["ref"]]
        for item in rows["items.csv"]
        if item["kind"] == "shoe" and item["size"] == "1"
    }

    assert len(number_1) == len(set(number_1.values())) == 7
    assert number_1["plain", "toe clip", "", "front"] > number_1["plain", "", "", "front"]
    assert number_1["plain", "side clips", "", "hind"] > number_1["plain", "", "", "hind"]
    assert cost["shoe-plain-front-00"] < cost["shoe-plain-front-1"] < cost["shoe-plain-front-4"]


def test_nothing_is_used_that_is_not_there(rows):
    """A day's deliveries come first, then what is used and wasted, then the counts."""
    day_used = {row["ref"]: row["date"] for row in rows["visits.csv"]}
    events = [(row["date"], 0, row["item"], D(row["quantity"])) for row in rows["purchases.csv"]]
    events += [(day_used[row["visit"]], 1, row["item"], -D(row["quantity"])) for row in rows["materials.csv"]]
    events += [(row["date"], 1, row["item"], -D(row["quantity"])) for row in rows["stock_facts.csv"]]
    events += [(row["date"], 2, row["item"], D(row["quantity"])) for row in rows["counts.csv"]]
    on_hand, least = Counter(), Counter()
    for _, order, item, quantity in sorted(events):
        on_hand[item] = quantity if order == 2 else on_hand[item] + quantity
        least[item] = min(least[item], on_hand[item])

    assert len(on_hand) == len(rows["items.csv"])
    assert {item: low for item, low in least.items() if low < 0} == {}


def test_gas_is_bought_and_counts_say_what_was_burned(rows):
    """No horse is ever charged with gas: what the counts find less was burned."""
    counts = [row for row in rows["counts.csv"] if row["item"] == "gas"]
    bought = [row for row in rows["purchases.csv"] if row["item"] == "gas"]
    burned = [
        D(before["quantity"])
        + sum(D(row["quantity"]) for row in bought if before["date"] < row["date"] <= after["date"])
        - D(after["quantity"])
        for before, after in zip(counts, counts[1:], strict=False)
    ]
    fitted_hot = Counter(row["service"] for row in rows["work.csv"])
    feet = 2 * fitted_hot["fronts-hot"] + 4 * fitted_hot["full-hot"]

    assert all(use["item"] != "gas" for use in rows["materials.csv"])
    assert bought and min(burned) >= 0
    assert feet / 60 < sum(burned) <= feet / 50


def is_off(day: date) -> bool:
    return (day.month, day.day) == (12, 25)


@pytest.mark.parametrize("today", [TODAY, date(2025, 11, 20), date(2025, 12, 24), date(2025, 12, 25)])
@pytest.mark.parametrize("seed", SEEDS)
def test_nobody_is_visited_or_due_on_christmas_day(seed, today):
    rows = make_season(2, seed, today)
    visits, horses = by_ref(rows["visits.csv"]), by_ref(rows["horses.csv"])
    resets = {row["ref"] for row in rows["services.csv"] if row["resets_cycle"] == "yes"}
    due = [
        day_of(visits[row["visit"]]) + timedelta(weeks=int(horses[row["horse"]]["cycle_weeks"]))
        for row in rows["work.csv"]
        if row["service"] in resets
    ]
    seen = [day_of(row) for name in ("visits", "legs", "purchases") for row in rows[f"{name}.csv"]]

    assert {day.year for day in seen} >= {2024, 2025}
    assert not any(is_off(day) for day in [*due, *seen])


def test_no_client_pays_on_christmas_day():
    restart(1)
    due_in = [date(2025, 12, 25) - timedelta(days) for days in (0, 3, 7, 14)]
    invoices = [
        SimpleNamespace(number=f"{n}", client=SimpleNamespace(key="c"), issued=day, total=D(55))
        for n, day in enumerate(due_in * 25)
    ]
    days = [day_of(row) for row in payments(invoices, TODAY)]

    assert len(days) >= 100 and date(2025, 12, 26) in days
    assert not any(is_off(day) for day in days)


@pytest.mark.parametrize("seed", SEEDS)
def test_nobody_works_on_a_weekend(seed):
    rows = make_season(1, seed, TODAY)

    assert {day_of(row).weekday() for row in rows["visits.csv"]} <= {0, 1, 2, 3, 4}
    assert {day_of(row).weekday() for row in rows["purchases.csv"]} <= {0, 1, 2, 3, 4}


def test_clients_and_places_lie_in_several_towns(rows):
    for name in ("clients.csv", "places.csv"):
        towns = Counter(row["address"].splitlines()[1] for row in rows[name])
        assert len(towns) >= 6
        assert max(towns.values()) <= len(rows[name]) / 3
    assert len({row["address"] for row in rows["clients.csv"]}) == len(rows["clients.csv"])


def test_now_and_then_a_horse_changes_its_size_and_a_note_says_so(rows):
    worn = defaultdict(set)
    for use, item, _ in used(rows):
        if item["kind"] == "shoe":
            worn[use["horse"]].add(item["size"])
    noted = {row["horse"] for row in rows["work.csv"] if "size" in row["note"]}

    assert 1 <= len(noted) <= 10
    assert {horse for horse, sizes in worn.items() if len(sizes) > 1} <= noted
    assert any(len(worn[horse]) > 1 for horse in noted)


def test_what_is_out_of_the_ordinary_occurs_on_a_few_horses(rows):
    """Each goes on a horse whose notes say why; studs only in winter."""
    visits, wears = by_ref(rows["visits.csv"]), defaultdict(set)
    for use, item, horse in used(rows):
        for what, is_it in {
            "bar": item["pattern"] == "straight bar",
            "wedge": item["pattern"] == "wedge",
            "aluminum": item["pattern"] == "plain" and item["material"] == "aluminum",
            "glue": item["pattern"] == "glue-on",
            "studs": item["kind"] == "stud",
        }.items():
            if is_it:
                wears[what].add(use["horse"])
                assert what in horse["notes"].lower()
        if item["kind"] == "stud":
            assert (item["pattern"], use["quantity"]) == ("drive-in", "4")
            assert day_of(visits[use["visit"]]).month in (11, 12, 1, 2, 3)

    assert {what: 1 <= len(horses) <= 3 for what, horses in wears.items()} == dict.fromkeys(
        ("bar", "wedge", "aluminum", "glue", "studs"), True
    )


def test_aluminum_is_fitted_cold(rows):
    fitted = defaultdict(set)
    for row in rows["work.csv"]:
        fitted[row["visit"], row["horse"]].add(row["service"])
    on_aluminum = [
        fitted[use["visit"], use["horse"]] for use, item, _ in used(rows) if "aluminum, No" in item["name"]
    ]

    assert on_aluminum
    assert all(services <= {"fronts-cold", "lost"} for services in on_aluminum)


def test_a_glued_shoe_takes_adhesive_and_no_nails(rows):
    kinds = {row["ref"]: row["kind"] for row in rows["items.csv"]}
    glued = {(row["visit"], row["horse"]) for row in rows["work.csv"] if row["service"] == "fronts-glue"}
    taken = defaultdict(set)
    for use in rows["materials.csv"]:
        taken[use["visit"], use["horse"]].add(kinds[use["item"]])

    assert glued
    assert all({"shoe", "adhesive"} <= taken[at] and "nail" not in taken[at] for at in glued)


def test_a_helper_is_paid_for_the_days_with_many_horses(rows):
    horses, visits = Counter(), by_ref(rows["visits.csv"])
    for row in rows["work.csv"]:
        horses[day_of(visits[row["visit"]])] += 1
    helped = [row for row in rows["expenses.csv"] if row["category"] == "contract labor"]

    assert {(row["vendor"], row["amount"]) for row in helped} == {("Rafe Tolliver-Quist", "140.00")}
    assert {day_of(row) for row in helped} == {
        day for day, count in horses.items() if count >= 7 and day != TODAY
    }
    assert 12 <= len(helped) <= 48


def test_a_few_receipts_are_pictures_that_pass_the_cleaning_of_an_upload(rows):
    expenses = by_ref(rows["expenses.csv"])
    found = pictures(rows["expenses.csv"])

    assert len(found) == 3
    for ref, picture in found.items():
        assert expenses[ref]["vendor"]
        clean = clean_receipt(picture)
        image = opened(clean)
        assert image.format == "JPEG" and len(clean) < 40_000
        assert len(image.convert("L").getcolors(256)) > 20  # something is drawn on the paper
    assert found == pictures(rows["expenses.csv"])


def test_today_is_half_done_whatever_the_seed(rows):
    today = [row for row in rows["visits.csv"] if day_of(row) == TODAY]

    assert Counter(row["status"] for row in today).keys() == {"done", "planned"}
