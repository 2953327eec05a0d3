"""A country that no module knows is added by one value, and a year is closed in it. Worked by hand."""

import re
from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import Invoice, MileageRate, TaxRate
from billing.pack.report import year_paper
from billing.pack.sheets import Sheets
from billing.reports.year.contract import by_contract
from billing.reports.year_end import year_end
from practice.lib.countries import COUNTRIES, Country, MileageScheme, TaxForm
from practice.lib.pdf import render_html
from practice.lib.profile import Profile
from practice.models import Leg
from tests.factories.billing import ExpenseFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, VehicleFactory, trim

pytestmark = pytest.mark.django_db
D = Decimal
IN_YEAR = date(2026, 5, 4)
ANVILLE = Country(
    code="XA",
    tax_year_begins=(10, 1),
    paper="Letter",
    distance_unit="km",
    mileage_scheme=MileageScheme(
        name="anville_wheel_money",
        label="Anville, wheel money",
        unit="km",
        per_vehicle=True,
        most_at_once=2,
        conditions=("Was the wheel money chosen before the first drive?",),
    ),
    sales_tax="market levy",
    taxed_differently="from valley to valley",
    tax_form=TaxForm(
        name="Form 9",
        line_heading="Form 9 box",
        lines={"vehicle fuel": "F1", "office": "F7"},
        lines_note="Boxes are those of Form 9.",
        miles_heading="as Form 9 asks",
        business_line="R1",
        other_distance="private",
    ),
)


@pytest.fixture(autouse=True)
def anville(monkeypatch, settings):
    """A practice in Anville, with 1,200 km, one taxed trim of 100.00 and two expenses in 2025/26."""
    settings.TODAY = DAY
    monkeypatch.setitem(COUNTRIES, "XA", ANVILLE)
    ProfileFactory(country="XA", distance_unit="km", mileage_scheme="anville_wheel_money")
    for tier, rate in ((0, "0.50"), (1000, "0.10")):
        MileageRate.objects.create(
            scheme="anville_wheel_money", valid_from=date(2020, 10, 1), tier_from=D(tier), rate=D(rate)
        )
    truck = VehicleFactory(name="Blue truck", ref="blue")
    Leg.objects.create(vehicle=truck, date=IN_YEAR, distance=D(1200), purpose="business")
    Leg.objects.create(vehicle=truck, date=IN_YEAR, distance=D(300), purpose="personal")
    ExpenseFactory(date=date(2025, 10, 1), category="vehicle fuel", amount=D(40))
    ExpenseFactory(date=date(2026, 9, 30), category="rent", amount=D(60))
    ExpenseFactory(date=date(2026, 10, 1), category="office", amount=D(999))
    TaxRate.objects.create(name="Valley levy", valid_from=date(2015, 1, 1), rate=5)
    work = trim(ClientFactory(), on=IN_YEAR, price="100")
    work.service.taxable = True
    work.service.save()
    close_days(IN_YEAR, IN_YEAR, DAY)
    record_payment(Invoice.objects.get().client, date(2026, 6, 1), D(105), "cash")


def words(page: str) -> str:
    """Return what a page says, tags and doubled blanks taken out."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_its_year_shows_its_days_its_scheme_and_its_form(browser):
    said = words(browser.get(reverse("billing:year", args=[2025])).content.decode())

    assert "October 1, 2025 to September 30, 2026" in said
    assert "Net of market levy $100.00" in said
    assert "Market levy received 5.00" in said
    assert "Rent 60.00 Vehicle fuel F1 40.00 Beside the standard rate 60.00" in said
    assert "Only by actual vehicle costs 40.00 Total, without materials 100.00" in said
    assert "Boxes are those of Form 9." in said
    assert "By vehicle, as Form 9 asks Vehicle Business Commuting Private Not logged Odometer" in said
    assert "Blue truck 520.00 40.00 80% 32.00" in said  # 1,000 km × 0.50 + 200 km × 0.10
    assert "Schedule C" not in said and "ales tax" not in said


def test_its_paper_has_its_size_and_its_words():
    profile = Profile.current()

    paper = year_paper(year_end(2025, profile, DAY), [], profile, DAY)

    page = render_html("pdf/year_end.html", {"paper": paper, "profile": profile})
    said = words(page)
    assert '<body class="letter">' in page
    assert "Category Form 9 box Amount Rent 60.00 Vehicle fuel F1 40.00" in said
    assert "Vehicle Business, R1 Commuting Private Not logged Odometer" in said
    assert "Total, in kilometers 1,200.0 0.0 300.0" in said
    assert "Anville, wheel money Dates Distance Rate Amount" in said
    assert "Sep 30, 2026, above 1,000 blue 200.0 0.10 20.00" in said
    assert "Market levy Tax and area Rate" in said
    assert "Schedule C" not in said and "ales tax" not in said


def test_its_sales_tax_page_has_its_name_and_its_quarters(browser):
    answer = browser.get(reverse("billing:sales-tax"), {"begin": "2025-10-01", "end": "2026-09-30"})

    said = words(answer.content.decode())
    assert "Market levy: $5.00 invoiced, $5.00 received." in said
    assert "(shoes, labor, travel) differs from valley to valley. Nothing" in said
    assert [span.begin.month for _, span in answer.context["spans"]] == [10, 1, 4, 7, 10]
    assert "ales tax" not in said


def test_its_expenses_and_its_rates_are_typed_in_its_words(browser):
    listed = words(browser.get(reverse("billing:expense-list")).content.decode())
    form = words(browser.get(reverse("billing:expense-add")).content.decode())
    rates = words(browser.get(reverse("billing:mileage-rate-list")).content.decode())
    rate_form = browser.get(reverse("billing:mileage-rate-add")).context["form"]

    assert "1 expense this tax year, $999.00." in listed
    assert "Form 9" in listed
    assert "Vehicle fuel (Form 9: F1)" in form
    assert "0.50 per kilometer, 0.10 above 1,000." in rates
    assert "Was the wheel money chosen before the first drive?" in rates
    assert rate_form.fields["scheme"].choices[1] == (
        "Per kilometer",
        [
            ("au_cents_per_km", "Australia, cents per kilometer"),
            ("anville_wheel_money", "Anville, wheel money"),
        ],
    )


def test_its_workbook_has_its_columns():
    profile = Profile.current()

    tables = {table.file: table for table in Sheets(year_end(2025, profile, DAY), profile).all()}

    assert [column.name for column in tables["expenses.csv"].columns][:4] == [
        "date",
        "category",
        "Form 9 box",
        "amount",
    ]
    assert [column.name for column in tables["by_month.csv"].columns][4] == "market levy included"
    assert tables["sales_tax.csv"].name == "Market levy"
    assert tables["miles_by_vehicle.csv"].name == "Kilometers by vehicle"


def test_its_document_keeps_the_keys_of_the_contract():
    shown = by_contract(year_end(2025, Profile.current(), DAY))

    assert (shown["year"], shown["from"], shown["to"]) == (2025, "2025-10-01", "2026-09-30")
    assert [row["schedule_c_line"] for row in shown["expenses"]] == ["", ""]
    assert [(row["vehicle"], row["tier_from"], row["amount"]) for row in shown["mileage"]["standard"]] == [
        ("blue", "0", "500.00"),
        ("blue", "1000", "20.00"),
    ]


def test_a_third_truck_on_a_day_is_one_more_than_its_scheme_allows(browser):
    for _ in range(2):
        Leg.objects.create(vehicle=VehicleFactory(), date=IN_YEAR, distance=D(1), purpose="business")

    said = words(browser.get(reverse("billing:year", args=[2025])).content.decode())

    assert "More than 2 vehicles were in use on one day, so no standard rate is shown." in said


def test_its_year_is_closed_through_its_last_day(browser):
    browser.post(reverse("billing:year-close", args=[2025]))

    assert Profile.current().closed_through == date(2026, 9, 30)


def test_a_new_practice_there_begins_with_what_is_usual_there(browser):
    Profile.objects.all().delete()

    browser.post(reverse("practice:settings-who"), {"name": "Anville Farriery", "country": "XA"})

    made = Profile.current()
    assert (made.country, made.distance_unit, made.mileage_scheme) == ("XA", "km", "anville_wheel_money")
