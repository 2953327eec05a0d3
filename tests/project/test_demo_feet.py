"""What the demo practice has on record of feet, told from its rows alone. Figures: common practice."""

from collections import defaultdict
from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest

from practice.lib.pictures import clean_photo
from practice.project.demo import season
from practice.project.demo.hoof_drawings import drawings
from practice.project.demo.season import make_season
from practice.rules.signs import FIRST_SIGNS, FOR_VET
from tests.pictures import opened

D = Decimal
TODAY = date(2026, 11, 26)
SEEDS = (1, 2, 5, 7)
OF_FEET = {"foot_records.csv", "prescriptions.csv", "findings.csv"}


@pytest.fixture(scope="module", params=SEEDS, ids=[f"seed-{seed}" for seed in SEEDS])
def rows(request):
    return make_season(1, request.param, TODAY)


def by_ref(table: list[dict]) -> dict[str, dict]:
    return {row["ref"]: row for row in table}


def day_of(rows, row: dict) -> date:
    return date.fromisoformat(by_ref(rows["visits.csv"])[row["visit"]]["date"])


def feet_over_time(rows) -> dict[tuple[str, str], list[dict]]:
    """The records of each foot, the first first."""
    feet = defaultdict(list)
    for row in rows["foot_records.csv"]:
        feet[row["horse"], row["foot"]].append(row)
    return feet


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_on_record_of_feet_changes_nothing_else(monkeypatch, seed):
    with_feet = make_season(1, seed, TODAY)
    monkeypatch.setattr(season, "keep_feet", lambda *args: None)
    without = make_season(1, seed, TODAY)

    assert {name for name in with_feet if with_feet[name] != without.get(name)} == OF_FEET
    assert len(with_feet["findings.csv"]) > len(without["findings.csv"])


def test_some_horses_have_records_of_a_year_and_each_is_of_a_shoeing(rows):
    resets = {row["ref"] for row in rows["services.csv"] if row["resets_cycle"] == "yes"}
    shoeings = {(row["visit"], row["horse"]) for row in rows["work.csv"] if row["service"] in resets}
    feet = feet_over_time(rows)

    assert {(row["visit"], row["horse"]) for row in rows["foot_records.csv"]} <= shoeings
    assert 4 <= len({horse for horse, _ in feet}) <= 6
    assert all(6 <= len(records) <= 9 for records in feet.values())
    days = [[day_of(rows, row) for row in records] for records in feet.values()]
    assert all(first < second for each in days for first, second in zip(each, each[1:], strict=False))


def test_a_record_says_the_same_as_the_materials(rows):
    items = by_ref(rows["items.csv"])
    services = {(row["visit"], row["horse"]): row["service"] for row in rows["work.csv"]}
    fitted = {row["ref"]: row["fitted"] for row in rows["services.csv"]}
    nails, shoes = {}, {}
    for use in rows["materials.csv"]:
        kept = {"nail": nails, "shoe": shoes}.get(items[use["item"]]["kind"], {})
        kept[use["visit"], use["horse"], use["foot"]] = use

    for row in rows["foot_records.csv"]:
        foot = (row["visit"], row["horse"], row["foot"])
        assert row.get("fitted", "") == fitted[services[foot[:2]]]
        driven = int(row.get("nails_outside", 0)) + int(row.get("nails_inside", 0))
        assert driven == int(nails[foot]["quantity"] if foot in nails else 0)
        if foot in shoes:
            clips = items[shoes[foot]["item"]]["clips"]
            assert row["clips"] == clips.removesuffix(" clip").removesuffix(" clips")


def test_angle_and_toe_change_a_little_from_one_time_to_the_next(rows):
    for (_, foot), records in feet_over_time(rows).items():
        angles, toes = ([D(row[name]) for row in records] for name in ("angle", "toe_length"))
        assert all(D(48) <= angle <= D(56) for angle in angles)
        assert all(D(2) < toe < D(5) for toe in toes)
        for values, most in ((angles, D(1)), (toes, D("0.25"))):
            steps = [abs(later - first) for first, later in zip(values, values[1:], strict=False)]
            assert max(steps) <= most
        if foot in ("LF", "RF"):
            assert angles[-1] >= angles[0] - D("0.5") and toes[-1] <= toes[0]


def test_low_heels_come_up_under_wedges_as_the_veterinarian_prescribed(rows):
    [(_, low)] = [
        (at, feet) for at, feet in feet_over_time(rows).items() if feet[0].get("pad") and at[1] == "LF"
    ]
    horse = low[0]["horse"]
    ordered = [row for row in rows["prescriptions.csv"] if row["horse"] == horse]

    assert D(low[-1]["angle"]) - D(low[0]["angle"]) >= 2
    assert D(low[0]["toe_length"]) - D(low[-1]["toe_length"]) >= D("0.25")
    assert {(row["foot"], row["pad"]) for row in ordered} == {("LF", low[0]["pad"]), ("RF", low[0]["pad"])}
    assert {row["by"] for row in ordered} == {rows["practice.csv"][0]["vet_name"]}


def test_a_prescribed_shoe_is_the_one_that_the_horse_wears(rows):
    visits, worn = by_ref(rows["visits.csv"]), {}
    for use in rows["materials.csv"]:
        if use["item"].startswith("shoe-"):
            worn[use["horse"], use["foot"]] = (visits[use["visit"]]["date"], use["item"])
    named = [row for row in rows["prescriptions.csv"] if row["item"]]

    assert len(named) == 2
    assert all(worn[row["horse"], row["foot"]][1] == row["item"] for row in named)


def test_what_is_seen_are_signs_of_the_list_and_each_is_seen_to_later(rows):
    seen = rows["findings.csv"]

    assert {row["kind"] for row in seen} <= set(FIRST_SIGNS)
    for row in seen:
        assert not row["resolved_on"] or day_of(rows, row) < date.fromisoformat(row["resolved_on"]) <= TODAY
    is_open = [row for row in seen if not row["resolved_on"]]
    assert is_open and len(is_open) < len(seen) / 2


def test_the_veterinarian_is_told_of_a_sign_on_their_list_while_we_are_there(rows):
    visits, told = by_ref(rows["visits.csv"]), [row for row in rows["findings.csv"] if row.get("told_at")]

    assert [row for row in rows["findings.csv"] if row["kind"] in FOR_VET] == told
    assert {row["told_who"] for row in told} == {rows["practice.csv"][0]["vet_name"]}
    for row in told:
        visit, at = visits[row["visit"]], datetime.fromisoformat(row["told_at"])
        came = datetime.fromisoformat(f"{visit['date']}T{visit['arrive']}").replace(tzinfo=at.tzinfo)
        assert row["refer_to_vet"] == "yes"
        assert timedelta(0) < at - came < timedelta(hours=1)


def test_a_crack_grows_out_over_three_visits(rows):
    cracks = [row for row in rows["findings.csv"] if row["kind"] == "crack"]

    assert [row["marked"] for row in cracks] == ["moderate", "slight", "slight"]
    assert all(
        first["resolved_on"] == day_of(rows, later).isoformat()
        for first, later in zip(cracks, cracks[1:], strict=False)
    )
    assert cracks[-1]["resolved_on"]


def test_a_few_findings_are_drawn_and_the_caption_says_so(rows):
    found = drawings(rows["findings.csv"])

    assert len(found) == len({picture for picture, _ in found.values()}) == 4
    for picture, caption in found.values():
        clean = clean_photo(picture)
        assert opened(clean).format == "JPEG" and len(clean) < 30_000
        assert len(opened(clean).convert("L").getcolors(256)) > 20  # something is drawn on the paper
        assert caption.startswith("A drawing, not a photo: ")
    assert found == drawings(rows["findings.csv"])
