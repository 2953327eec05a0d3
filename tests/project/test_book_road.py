"""Readings, drives, their history and odometers in the book: out, in, and out again."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from practice.actions.road import change_leg, log_leg, remove_leg, set_reading
from practice.actions.vehicles import change_odometer
from practice.models import Leg, LegChange, OdometerChange, Reading
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from tests.factories.practice import DAY, ProfileFactory, VehicleFactory, trim
from tests.project.test_book_errors import BASE, complaints, put

pytestmark = pytest.mark.django_db
D = Decimal
EVENING = datetime(2026, 10, 14, 19, 5, tzinfo=UTC)
LATER = datetime(2026, 10, 20, 6, 0, 1, tzinfo=UTC)
LEGS = "date,vehicle,distance,purpose,proposed,recorded_at,uuid\n"
ONE = "3f0cbb5e-3c65-4c0e-8e5e-4c38f1d4c001"


@pytest.fixture
def truck():
    """A truck with one of each: taken, typed, changed and removed drives, readings, a new odometer."""
    ProfileFactory()
    truck, visit = VehicleFactory(ref="truck"), trim().visit
    set_reading(truck, DAY, "start", D("84198.0"), EVENING)
    taken = {"distance": D("11.2"), "estimated": True, "origin": "Home"}
    log_leg(truck, DAY, purpose="business", visit=visit, written=EVENING, **taken)
    leg = log_leg(truck, DAY, purpose="personal", distance=D(3), written=EVENING)
    change_leg(leg, {"purpose": "business", "reason": "supplier"}, written=LATER)
    remove_leg(log_leg(truck, DAY, purpose="personal", distance=D(1)), written=LATER)
    set_reading(truck, DAY, "end", D("84213.0"), EVENING)
    set_reading(truck, DAY, "end", D("84213.5"), LATER)
    change_odometer(truck, DAY.replace(day=20), D("84230.0"), D("0.4"))
    return truck


def rows_of(folder, name: str) -> list[str]:
    return (folder / name).read_text(encoding="utf-8").splitlines()


def test_the_road_is_written_out_with_when_it_was_said(truck, tmp_path):
    export_book(tmp_path / "out")

    key = Leg.objects.get(reason="supplier").uuid
    taken, changed = rows_of(tmp_path / "out", "legs.csv")[1:]
    assert taken.endswith(",11.2,2026-10-14T19:05:00+00:00,,")
    assert changed.endswith(f",supplier,,,2026-10-14T19:05:00+00:00,2026-10-20T06:00:01+00:00,{key}")
    assert rows_of(tmp_path / "out", "leg_changes.csv")[1].startswith(
        f"{key},changed,2026-10-20T06:00:01+00:00,2026-10-14,truck,,,3,personal,"
    )
    assert rows_of(tmp_path / "out", "readings.csv")[2] == (
        "2026-10-14,truck,end,84213.5,2026-10-14T19:05:00+00:00,2026-10-20T06:00:01+00:00"
    )
    assert rows_of(tmp_path / "out", "odometers.csv")[1:] == ["2026-10-20,truck,84230,0.4"]


def test_what_is_in_the_book_is_known(truck, tmp_path):
    export_book(tmp_path / "out")

    report = import_book(tmp_path / "out")

    assert report.problems == []
    assert {(row["new"], row["updated"]) for row in report.files} == {(0, 0)}
    counts = [model.objects.count() for model in (Leg, LegChange, Reading, OdometerChange)]
    assert counts == [2, 2, 2, 1]


def test_a_file_that_does_not_say_when_tells_of_the_same_drives(truck, tmp_path):
    export_book(tmp_path / "out")
    path = tmp_path / "out" / "legs.csv"
    path.write_text(
        "".join(",".join(line.split(",")[:10]) + "\n" for line in rows_of(path.parent, path.name))
    )

    assert [row["new"] for row in import_book(path.parent).files if row["file"] == "legs.csv"] == [0]


def test_what_an_import_says_of_a_drive_from_home_stands_with_a_warning(tmp_path):
    """Rev. Rul. 99-7."""
    practice = BASE["practice.csv"].replace("travel_rule", "home_is_principal_place_of_business")
    leg = "2026-10-14,truck,5,business,Home,{}\n"
    folder = put(
        tmp_path / "book",
        practice_csv=practice.replace("US,none", "US,no"),
        legs_csv="date,vehicle,distance,purpose,origin,reason\n" + leg.format("") + leg.format("a clinic"),
    )

    report = import_book(folder)

    assert report.problems == []
    assert [(row.line, row.column) for row in report.warnings if row.file == "legs.csv"] == [(2, "reason")]
    assert Leg.objects.filter(purpose="business").count() == 2


def test_each_day_whose_first_or_last_drive_lacks_a_reason_is_told_once(tmp_path):
    """October 14: first and last; October 15: none, as both have one; October 16: one drive is both."""
    practice = BASE["practice.csv"].replace("travel_rule", "home_is_principal_place_of_business")
    rows = (
        ("14", "business", "Shop", ""),
        ("14", "business", "Barn", ""),
        ("14", "business", "Yard", ""),
        ("15", "business", "Shop", "supplier"),
        ("15", "business", "Barn", ""),
        ("15", "commuting", "Yard", ""),
        ("16", "business", "Shop", ""),
    )
    legs = "".join(
        f"2026-10-{day},truck,5,{purpose},{origin},{reason}\n" for day, purpose, origin, reason in rows
    )
    folder = put(
        tmp_path / "book",
        practice_csv=practice.replace("US,none", "US,no"),
        legs_csv="date,vehicle,distance,purpose,origin,reason\n" + legs,
    )

    found = [row for row in import_book(folder).warnings if row.file == "legs.csv"]

    assert [(row.line, row.column) for row in found] == [(2, "reason"), (8, "reason")]
    assert found[0].message.startswith("2026-10-14: 2 business drives have no reason")
    assert "(Rev. Rul. 99-7)" in found[0].message


@pytest.mark.slow
def test_it_comes_back_byte_for_byte(truck, tmp_path, check_it_comes_back):
    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")


@pytest.mark.parametrize(
    ("files", "expected"),
    [
        (
            {
                "legs_csv": LEGS
                + f"2026-10-14,truck,3,personal,,,{ONE}\n2026-10-15,truck,3,personal,,,{ONE}\n"
            },
            [f'legs.csv:3: uuid: "{ONE}" appears twice in legs.csv'],
        ),
        (
            {"legs_csv": LEGS + "2026-10-14,truck,3,personal,,2026-10-14,x\n"},
            [
                'legs.csv:2: recorded_at: "2026-10-14" is not a date and time such as'
                " 2026-10-14T18:05:00+00:00",
                'legs.csv:2: uuid: "x" is not a UUID',
            ],
        ),
        (
            {
                "legs_csv": "date,vehicle,start_odometer,end_odometer,purpose,proposed\n"
                "2026-10-14,truck,3,5,personal,2\n"
            },
            ["legs.csv:2: proposed: must be blank if both odometer readings are given"],
        ),
        (
            {"odometers_csv": "date,vehicle,last,first\n2026-10-20,truck,90,0\n"},
            [
                "odometers.csv:2: last: 90 on 2026-10-20 is lower than 110, the odometer"
                " after the readings and legs up to 2026-10-14"
            ],
        ),
        (
            {
                "odometers_csv": "date,vehicle,last,first\n2026-10-20,truck,110,0\n",
                "readings_csv": "date,vehicle,at,reading\n2026-10-20,truck,end,12\n",
            },
            [],
        ),
    ],
    ids=["a leg twice", "no moment", "a measured estimate", "an odometer run back", "a new odometer"],
)
def test_what_does_not_fit_is_told(tmp_path, files, expected):
    assert complaints(put(tmp_path / "book", **files)) == expected
