"""The pages of the road: a day from two readings, jumps, the log by month and for any period."""

import io
import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from pypdf import PdfReader

from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.models import Leg, LegChange, OdometerChange, Reading, Vehicle, Visit
from practice.papers.mileage_log import mileage_paper
from practice.reports.driven import driven_in
from practice.reports.mileage_log import log_csv, mileage_log, total_of
from practice.reports.miles import business_miles, miles_by_year, visits_of_client, visits_of_horse
from practice.reports.road_log import month_log
from tests.conftest import DESK, PHONE
from tests.factories.practice import (
    DAY,
    LegFactory,
    PlaceFactory,
    ProfileFactory,
    ReadingFactory,
    VehicleFactory,
    WorkFactory,
    owned_horse,
    trim,
)

pytestmark = pytest.mark.django_db
D = Decimal
MONTH = Period(DAY.replace(day=1), DAY.replace(day=31))
NEXT_MORNING = datetime(2026, 10, 15, 6, 40, tzinfo=UTC)


@pytest.fixture
def truck(settings):
    """A truck with a round of two stops; the drives were driven before: 10, 20 and 12."""
    settings.TODAY = DAY
    ProfileFactory()
    truck = VehicleFactory(name="Blue truck")
    for origin, destination, distance in (("Home", "Barn", 10), ("Barn", "Yard", 20), ("Yard", "Home", 12)):
        LegFactory(
            vehicle=truck,
            date=DAY - timedelta(42),
            distance=D(distance),
            origin=origin,
            destination=destination,
        )
    for name in ("Barn", "Yard"):
        trim(place=PlaceFactory(name=name), vehicle=truck)
    return truck


def legs() -> list[tuple]:
    return list(
        Leg.objects.filter(date=DAY)
        .order_by("pk")
        .values_list("origin", "destination", "distance", "purpose", "reason")
    )


def at_round() -> str:
    return reverse("practice:round", args=[DAY.isoformat()])


def test_one_tap_takes_all_drives_of_the_round(truck, browser):
    before = browser.get(at_round()).context["parts"][0][0]
    browser.post(reverse("practice:leg-take", args=[DAY.isoformat(), truck.pk]), {"drive": "all"})

    assert ([row.distance for row in before.proposals], Leg.objects.filter(date=DAY).count()) == (
        [10, 20, 12],
        3,
    )
    assert legs() == [
        ("Home", "Barn", 10, "business", ""),
        ("Barn", "Yard", 20, "business", ""),
        ("Yard", "Home", 12, "business", "drive home"),
    ]


def test_nothing_is_taken_on_a_day_that_is_ahead(truck, browser, settings):
    settings.TODAY = DAY - timedelta(1)

    answer = browser.post(
        reverse("practice:leg-take", args=[DAY.isoformat(), truck.pk]), {"drive": "all"}, follow=True
    )

    assert (legs(), "Proposed" in answer.content.decode()) == ([], False)


def test_a_proposal_is_corrected_or_kept_as_it_is(truck, browser):
    address = reverse("practice:leg-add", args=[DAY.isoformat(), truck.pk])
    first, second, _ = browser.get(at_round()).context["parts"][0][0].proposals
    for row, distance in ((first, "11.5"), (second, "20")):
        initial = browser.get(f"{address}?take={row.key}").context["form"].initial
        typed = {name: "" if value is None else str(value) for name, value in initial.items()}
        browser.post(address, typed | {"distance": distance})

    rows = Leg.objects.filter(date=DAY).order_by("pk")
    assert [(leg.distance, leg.estimated, leg.visit) for leg in rows] == [
        (D("11.5"), False, first.visit),
        (20, True, second.visit),
    ]


def test_a_leg_is_mended_and_its_page_says_what_it_said(truck, browser):
    leg = LegFactory(vehicle=truck, distance=D(9), destination="Feed store", recorded_at=NEXT_MORNING)
    address = reverse("practice:leg-change", args=[leg.pk])

    browser.post(
        address, {"origin": "", "destination": "Feed store", "distance": "9.5", "purpose": "personal"}
    )

    answer = browser.get(address)
    leg.refresh_from_db()
    assert (leg.distance, [row.distance for row in answer.context["history"]]) == (D("9.5"), [9])
    assert leg.changed_at.date() == DAY


def test_a_business_drive_without_a_reason_is_not_kept(truck, browser):
    leg = LegFactory(vehicle=truck, distance=D(9))

    answer = browser.post(
        reverse("practice:leg-change", args=[leg.pk]), {"distance": "9", "purpose": "business"}
    )

    assert answer.context["form"].non_field_errors() == [
        "A business drive needs a stop, or a reason such as 'supplier'."
    ]
    assert (Leg.objects.get(pk=leg.pk).purpose, LegChange.objects.count()) == ("personal", 0)


def test_a_reading_that_does_not_fit_stands_beside_its_field(truck, browser):
    ReadingFactory(vehicle=truck, at="start", reading=D(1000))
    address = reverse("practice:readings", args=[DAY.isoformat(), truck.pk])

    answer = browser.post(address, {f"v{truck.pk}-start": "1000", f"v{truck.pk}-end": "990"})

    [(_, form)] = answer.context["parts"]
    assert form.errors == {
        "end": ["990.0 on October 14 is lower than the last reading, 1,000.0 on October 14."]
    }
    assert Reading.objects.count() == 1


def test_the_month_says_what_is_missing_and_what_mends_it(truck):
    ReadingFactory(vehicle=truck, date=DAY - timedelta(5), at="end", reading=D("84021.3"))
    ReadingFactory(vehicle=truck, reading=D("84034.9"))
    named = LegFactory(vehicle=truck, destination="yard")
    bare = LegFactory(vehicle=truck, purpose="business", date=DAY - timedelta(1))

    log = month_log(truck, MONTH, Profile.current())

    round_of_the_day = reverse("practice:round", args=["2026-10-14"])
    words = "Fri, Oct 9 to Wed, Oct 14: 84,026.3 to 84,034.9, on top of the drives that are logged."
    at_gap = reverse("practice:gap-fill", args=["2026-10-14", truck.pk, "84034.9"])
    assert [(row.kind, row.date.day, row.text, row.url) for row in log.issues] == [
        ("jump", 14, words, f"{at_gap}?log"),
        ("no_drive", 14, "Wed, Oct 14: Barn, Yard.", round_of_the_day),
        ("no_visit", 14, "Wed, Oct 14: ? to yard, 5.0\u00a0mi.", named.get_absolute_url()),
        ("no_reason", 13, "Tue, Oct 13: ? to ?, 5.0\u00a0mi.", bare.get_absolute_url()),
    ]
    assert [day.date.day for day in log.days] == [14, 13, 9]
    assert (log.total.logged, log.total.not_logged, log.total.driven) == (10, D("8.6"), D("18.6"))


def test_the_month_says_when_a_day_was_written_down(truck, browser):
    LegFactory(vehicle=truck, recorded_at=NEXT_MORNING)
    LegFactory(vehicle=truck, date=DAY - timedelta(1), recorded_at=NEXT_MORNING - timedelta(2))

    page = browser.get(reverse("practice:road-month", args=["2026-10"])).content.decode()

    made = [" ".join(words.split()) for words in re.findall(r"entered (?:the same day|\w+, \w+ \d+)", page)]
    assert made == ["entered Thu, Oct 15", "entered the same day"]


def test_a_jump_is_nothing_until_its_purpose_is_chosen(truck, browser):
    ReadingFactory(vehicle=truck, reading=D(100))
    ReadingFactory(vehicle=truck, at="end", reading=D(108))
    address = reverse("practice:gap-fill", args=[DAY.isoformat(), truck.pk, "108"])

    answer = browser.post(address, {"distance": "8", "purpose": ""})

    assert (answer.context["form"].errors, legs()) == ({"purpose": ["This cannot be blank."]}, [])


def test_a_jump_that_is_mended_already_leads_back(truck, browser):
    address = reverse("practice:gap-fill", args=[DAY.isoformat(), truck.pk, "108"])

    answer = browser.post(address + "?log", {"personal": "yes"})

    assert (answer["Location"], legs()) == (reverse("practice:road-month", args=["2026-10"]), [])


@pytest.mark.parametrize("month", ["2026-13", "26-10", "october", "2026-1"])
def test_an_address_that_is_no_month_is_not_there(browser, month):
    assert browser.get(f"/road/{month}/").status_code == 404


def test_what_was_taken_out_is_told(truck, browser):
    leg = LegFactory(vehicle=truck, distance=D(7))
    browser.post(reverse("practice:leg-remove", args=[leg.pk]))

    [log] = browser.get(reverse("practice:road")).context["logs"]

    assert ([row.distance for row in log.removed], log.total.logged) == ([7], 0)


def drive_the_round(truck):
    barn, yard = Visit.objects.filter(vehicle=truck).order_by("pk")
    ReadingFactory(vehicle=truck, reading=D("1000"))
    for distance, visit, reason in (("10", barn, ""), ("20", yard, ""), ("12", None, "drive home")):
        said = {"distance": D(distance), "proposed": D(distance), "reason": reason}
        LegFactory(vehicle=truck, visit=visit, purpose="business", **said)
    ReadingFactory(vehicle=truck, at="end", reading=D("1047"))
    return barn, yard


def test_the_miles_of_a_visit_are_told_at_the_visit_the_horse_the_client_and_the_place(truck, browser):
    """42 in all: 12 home shared 10 : 20."""
    barn, yard = drive_the_round(truck)
    work = barn.work.get()
    other = owned_horse()
    WorkFactory(visit=yard, horse=other)
    WorkFactory(visit=yard, horse=work.horse)

    client = work.horse.owners.get().client
    years = [
        miles_by_year(visits, DAY, Profile.current())
        for visits in (visits_of_horse(other), visits_of_client(client), barn.place.visits.all())
    ]
    pages = {
        "visit-detail": barn.pk,
        "horse-detail": work.horse.pk,
        "client-detail": client.pk,
        "place-detail": yard.place.pk,
    }
    answers = [browser.get(reverse(f"practice:{page}", args=[key])) for page, key in pages.items()]
    shown = [answer.content.decode() for answer in answers]

    assert business_miles(DAY, DAY).visits == {barn.pk: 14, yard.pk: 28}
    assert [[(row.label, row.visits, row.distance) for row in rows] for rows in years] == [
        [("2026", 1, 28), ("2025", 0, 0)],
        [("2026", 2, 42), ("2025", 0, 0)],
        [("2026", 1, 14), ("2025", 0, 0)],
    ]
    told = [distance in page for page, distance in zip(shown, ("14.0", "42.0", "42.0", "28.0"), strict=True)]
    assert told == [True] * 4


def test_visits_before_a_client_had_a_share_are_not_the_clients(truck):
    visit = Visit.objects.first()
    share = visit.work.get().horse.owners.get()
    share.valid_from = DAY + timedelta(1)
    share.save()

    assert list(visits_of_client(share.client)) == []


def test_the_log_has_every_drive_and_what_is_not_logged(truck):
    drive_the_round(truck)

    rows = mileage_log(DAY, DAY)

    assert log_csv(rows).splitlines() == [
        "date,vehicle,day_start_odometer,day_end_odometer,start_odometer,end_odometer,from,to,reason,"
        "distance,purpose,estimated,made_on,changed_on",
        '2026-10-14,Blue truck,1000,1047,,,,,"shoeing, 1 horse",10,business,yes,,',
        '2026-10-14,Blue truck,1000,1047,,,,,"shoeing, 1 horse",20,business,yes,,',
        "2026-10-14,Blue truck,1000,1047,,,,,drive home,12,business,yes,,",
        "2026-10-14,Blue truck,1000,1047,,1047,,,,5,not logged,no,,",
    ]
    assert total_of(rows).columns == [42, 0, 0, 5, 47]


def test_the_papers_sums_are_those_of_its_months_and_vehicles(truck):
    drive_the_round(truck)
    LegFactory(vehicle=VehicleFactory(name="Car"), date=DAY + timedelta(30), distance=D("1.5"))
    period = Period(DAY, DAY + timedelta(60))

    paper = mileage_paper(mileage_log(period.begin, period.end), period, Profile.current())

    assert [(month.name, month.vehicle, month.sums[-1]) for month in paper.months] == [
        ("October 2026", "Blue truck", "47.0"),
        ("November 2026", "Car", "1.5"),
    ]
    assert [name for name, _ in paper.vehicles] == ["Blue truck", "Car"]
    assert (paper.total, paper.business) == (["42.0", "0.0", "1.5", "5.0", "48.5"], "42.0\u00a0mi")
    first = paper.months[0].drives[0]
    assert (first.day, first.odometer, first.purpose) == (
        "Wed, Oct 14",
        "day: 1,000.0 to 1,047.0",
        "business, estimated",
    )


def test_the_log_goes_out_as_pdf_and_csv_for_any_period(truck, browser):
    drive_the_round(truck)
    asked = "?from=2026-10-14&to=2026-10-14"

    pdf = browser.get(reverse("practice:road-log-pdf") + asked)
    sheet = browser.get(reverse("practice:road-log-csv") + asked)
    page = browser.get(reverse("practice:road-log") + asked)

    text = " ".join(PdfReader(io.BytesIO(pdf.content)).pages[0].extract_text().split())
    assert "Mileage log October 14, 2026 to October 14, 2026" in text
    assert "licensed tax preparer decides" in text and "not logged" in text
    assert sheet.content.decode() == log_csv(mileage_log(DAY, DAY))
    assert sheet["Content-Disposition"] == 'attachment; filename="mileage-2026-10-14-2026-10-14.csv"'
    assert page.context["total"].columns == [42, 0, 0, 5, 47]


@pytest.mark.parametrize("asked", ["from=x&to=2026-10-14", "from=2026-10-14&to=2026-10-01"])
def test_a_period_that_is_none_is_asked_for_again(truck, browser, asked):
    page = browser.get(reverse("practice:road-log") + f"?{asked}")

    assert (page.context["period"], len(page.context["form"].errors)) == (None, 1)
    assert browser.get(reverse("practice:road-log-csv") + f"?{asked}").status_code == 404


def test_a_vehicle_and_an_odometer_are_replaced_on_their_pages(truck, browser):
    ReadingFactory(vehicle=truck, reading=D("1000"))
    day = {"date": DAY.isoformat(), "last": "1010"}

    browser.post(reverse("practice:odometer-change", args=[truck.pk]), day | {"first": "0"})
    change = OdometerChange.objects.get()
    browser.post(reverse("practice:odometer-undo", args=[change.pk]))
    browser.post(reverse("practice:vehicle-replace", args=[truck.pk]), day | {"name": "Van", "first": "31.5"})

    assert ((change.last, change.first), OdometerChange.objects.count()) == ((1010, 0), 0)
    assert list(Vehicle.objects.order_by("pk").values_list("name", "archived")) == [
        ("Blue truck", True),
        ("Van", False),
    ]


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_day_is_logged_from_two_readings_and_a_jump_is_mended(truck, open_page, user, size):
    ReadingFactory(vehicle=truck, date=DAY - timedelta(1), at="end", reading=D("990.0"))
    page = open_page(*size, user=user)
    page.goto(at_round())

    page.get_by_label("Morning").fill("1000.0")
    page.get_by_label("Evening").fill("1060.0")
    page.get_by_role("button", name="Save the odometer").click()
    page.get_by_role("button", name="Add all 3 drives").click()
    page.wait_for_load_state()
    taken = legs()
    page.get_by_role("button", name="It was personal").last.click()
    page.wait_for_load_state()
    page.goto(reverse("practice:road"))
    page.get_by_role("link", name="Say what it was").click()
    page.get_by_label("Purpose").select_option("business")
    page.get_by_label("Reason").fill("nails from the supplier")
    page.get_by_role("button", name="Save").click()
    page.wait_for_load_state()

    assert [row[2] for row in taken] == [D("10.5"), D("21.0"), D("12.6")]
    assert legs() == [
        *taken,
        ("", "", D("15.9"), "personal", ""),
        ("", "", 10, "business", "nails from the supplier"),
    ]
    assert page.get_by_role("heading", level=1).inner_text() == "70.0\u00a0mi logged."
    assert page.problems == []


def test_the_paper_says_where_when_and_how_far_the_odometer_went(truck):
    """The law and the practice's own words, towns from addresses, both readings, and the day of entry."""
    profile = Profile.current()
    profile.address, profile.home_statement = "4 Tongs Row\nEmber Ford", "No other office."
    profile.save()
    PlaceFactory(name="Old Kiln", address="Kiln Lane 2, Wick")
    entered = datetime(2026, 10, 14, 18, 30, tzinfo=UTC)
    leg = LegFactory(vehicle=truck, origin="Home", destination="old kiln", recorded_at=entered)
    ReadingFactory(vehicle=truck, date=DAY - timedelta(1), at="end", reading=D(990))
    ReadingFactory(vehicle=truck, at="end", reading=D(1005))
    period = Period(DAY.replace(day=1), DAY.replace(day=31))

    paper = mileage_paper(mileage_log(DAY, DAY), period, profile, driven_in(period))

    [line] = [line for month in paper.months for line in month.drives if line.is_claimed]
    assert (line.origin, line.origin_town) == ("Home", "Ember Ford")
    assert (line.destination, line.destination_town) == (leg.destination, "Wick")
    assert line.entered == "Wed, Oct 14"
    assert [row.cells for row in paper.odometers.rows] == [
        ("990.0 on Oct 13, 2026", "1,005.0 on Oct 14, 2026")
    ]
    assert paper.home.endswith("principal place of business (Rev. Rul. 99-7). No other office.")


def test_a_vehicle_that_was_never_read_shows_unknown_on_paper(truck):
    LegFactory(vehicle=truck)
    period = Period(DAY.replace(day=1), DAY.replace(day=31))

    paper = mileage_paper(mileage_log(DAY, DAY), period, Profile.current(), driven_in(period))

    assert paper.total == ["0.0", "0.0", "5.0", "unknown", "5.0"]
    assert paper.months[0].sums == paper.total


def test_a_month_of_another_year_says_its_year(truck, browser, settings):
    for at, reading in (("start", "100"), ("end", "160")):
        ReadingFactory(vehicle=truck, at=at, reading=D(reading))
    settings.TODAY = DAY.replace(year=DAY.year + 1)

    page = " ".join(browser.get(f"/road/{DAY:%Y-%m}/").content.decode().split())

    assert "Oct 14, 2026: Barn, Yard." in page
    assert "Wed, Oct 14" not in page
