"""The pages of the year: totals, what is still to fix, closing, and estimated tax paid."""

import re
from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import EstimatedPayment, Invoice, Payment, TaxRate
from billing.reports.year_end import year_end
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Leg, Reading, Visit
from tests.benchmarks.many_years import LAST_YEAR, add_years, set_up
from tests.factories.billing import EstimatedPaymentFactory, ExpenseFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, VehicleFactory, trim

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture(autouse=True)
def october(settings):
    settings.TODAY = DAY


def words(answer) -> str:
    """Return what a page says, tags and doubled blanks taken out."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def page(browser, year=2026, **query):
    return browser.get(reverse("billing:year", args=[year]), query)


def test_the_page_says_what_came_in_and_what_is_to_fix(browser):
    ProfileFactory()
    record_payment(ClientFactory(name="Dell Okada"), date(2026, 5, 4), D(85), "check")

    said = words(page(browser))

    assert "You received $85.00. 1 thing to fix." in said
    assert "Dell Okada has $85.00 of unused credit." in said
    assert "Rules change. A licensed tax preparer decides." in said


def test_what_is_to_fix_leads_to_where_it_is_fixed(browser):
    ProfileFactory()
    trim(on=date(2026, 5, 4))
    client = ClientFactory()
    record_payment(client, date(2026, 5, 4), D(85), "check")

    links = [issue.url for issue in page(browser).context["year"].warnings]

    assert links == ["/close/2026-05-04/", f"/clients/{client.pk}/"]
    assert [browser.get(url).status_code for url in links] == [200, 200]


def test_both_ways_for_miles_and_materials_stand_side_by_side(browser):
    ProfileFactory(mileage_scheme="us_standard")
    truck = VehicleFactory(name="Blue truck")
    Leg.objects.create(vehicle=truck, date=date(2026, 5, 4), distance=D(100), purpose="business")
    ExpenseFactory(date=date(2026, 5, 4), amount=D(40))

    said = words(page(browser))

    heads = "Vehicle Standard rate Vehicle costs Business share Actual costs"
    assert f"Vehicle costs, two ways {heads} Blue truck 72.50 40.00 100% 40.00" in said
    assert "Both are shown; neither is advised." in said
    assert "is for your tax preparer to decide. Each cost counts only once." in said
    assert "Not logged, never claimed unknown" in said
    assert "as Part IV of Schedule C asks" in said


def test_outside_the_united_states_no_american_form_is_named(browser):
    ProfileFactory(country="GB", currency="GBP", locale="en-GB", mileage_scheme="uk_simplified")
    Leg.objects.create(vehicle=VehicleFactory(), date=date(2026, 5, 4), distance=D(100), purpose="business")
    ExpenseFactory(date=date(2026, 5, 4), category="contract labor")

    said = words(page(browser))

    assert "6 April 2026 to 5 April 2027" in said
    assert "Schedule C" not in said


def test_what_a_contractor_was_paid_by_is_not_claimed_to_be_known(browser):
    ProfileFactory()
    for note, vendor, amount in (("check 114", "Ash Berrow", 120), ("", "Ash Berrow", 80), ("", "", 30)):
        ExpenseFactory(
            date=date(2026, 5, 4), category="contract labor", vendor=vendor, amount=D(amount), note=note
        )

    answer = page(browser)

    rows = [
        (row.vendor, row.amount, row.payments, row.notes)
        for row in answer.context["year"].expenses.contractors
    ]
    assert rows == [("Ash Berrow", D(200), 2, ("check 114",)), ("", D(30), 1, ())]
    assert "is recorded only where the note says so" in words(answer)


def test_the_year_of_today_is_found(browser):
    ProfileFactory(country="GB")

    assert browser.get(reverse("billing:year-now")).headers["Location"] == "/year/2026/"


def test_a_year_that_no_book_is_about_is_not_found(browser):
    ProfileFactory()
    years = (0, 9999, 1989, 2037, 1990, 2036)

    assert [browser.get(f"/year/{year}/").status_code for year in years] == [404, 404, 404, 404, 200, 200]


def test_a_year_of_an_empty_book_is_a_year_of_nothing(browser):
    assert "You received $0.00. Nothing to fix." in words(page(browser))


def test_the_page_takes_as_many_queries_with_one_row_as_with_three(browser):
    ProfileFactory(mileage_scheme="us_standard")

    def one_of_each():
        work = trim(on=date(2026, 5, 4))
        close_days(date(2026, 5, 4), date(2026, 5, 4), DAY)
        trim(on=date(2026, 5, 5))
        record_payment(work.horse.owners.get().client, DAY, D(85), "check")
        ExpenseFactory(category="contract labor", vendor=f"Helper {work.pk}")
        EstimatedPaymentFactory()
        truck = VehicleFactory()
        Reading.objects.create(vehicle=truck, date=date(2025, 5, 4), at="end", reading=D(1))
        Reading.objects.create(vehicle=truck, date=date(2026, 5, 4), at="end", reading=D(90))
        Leg.objects.create(vehicle=truck, date=date(2026, 5, 4), distance=D(9), purpose="business")

    counts = []
    for times in (1, 2):
        for _ in range(times):
            one_of_each()
        page(browser)
        with CaptureQueriesContext(connection) as queries:
            page(browser)
        counts.append(len(queries))

    assert counts[0] == counts[1]


def test_a_year_reads_as_much_and_says_the_same_with_twenty_years_in_the_book_as_with_two(browser):
    set_up()
    found = []

    for years in (range(LAST_YEAR - 1, LAST_YEAR + 1), range(LAST_YEAR - 19, LAST_YEAR - 1)):
        add_years(years, days_a_year=5)
        page(browser, LAST_YEAR)
        with CaptureQueriesContext(connection) as queries:
            page(browser, LAST_YEAR)
        totals = year_end(LAST_YEAR, Profile.current(), DAY)
        found.append((len(queries), totals.income, totals.expenses, totals.work))

    assert Visit.objects.count() == 20 * 5 * 8
    assert found[0] == found[1]
    assert found[0][1].total > 0


def test_a_year_is_closed_and_reopened(browser):
    ProfileFactory()
    close, back = (reverse(f"billing:year-{what}", args=[2025]) for what in ("close", "open"))

    closed = browser.post(close, follow=True)
    assert Profile.current().closed_through == date(2025, 12, 31)
    opened = browser.post(back, follow=True)

    assert "Reopen the year" in words(closed) and "You can reopen it until" in words(opened)
    assert Profile.current().closed_through is None


def test_a_year_that_is_not_over_is_not_closed(browser):
    ProfileFactory()

    said = words(browser.post(reverse("billing:year-close", args=[2026]), follow=True))

    assert "The year ends on December 31, 2026. Close it after that day." in said
    assert Profile.current().closed_through is None


def test_what_is_set_aside_follows_the_percentage_that_the_farrier_chose(browser):
    """First quarter 1,000.00 less 200.00: 25 % is 200.00; third one −50.00: nothing. 1,200.00 is paid."""
    ProfileFactory(set_aside_percent=D(25))
    record_payment(ClientFactory(), date(2026, 2, 1), D(1000), "cash")
    ExpenseFactory(date=date(2026, 2, 2), amount=D(200))
    ExpenseFactory(date=date(2026, 6, 2), amount=D(50))
    EstimatedPaymentFactory(date=date(2026, 4, 15), amount=D(1200))

    answer = page(browser)

    rows = [(row.left, row.aside, row.paid) for row in answer.context["page"].quarters]
    assert rows == [(D(800), D(200), D(0)), (D(0), D(0), D(1200)), (D(-50), D(0), D(0)), (D(0),) * 3]
    # Form 1040-ES: payment periods to March 31, May 31, August 31 and December 31.
    assert [str(row.quarter.period.end) for row in answer.context["page"].quarters] == [
        "2026-03-31",
        "2026-05-31",
        "2026-08-31",
        "2026-12-31",
    ]
    assert "no tax is calculated" in words(answer)


def test_estimated_tax_is_added_changed_and_deleted(browser):
    ProfileFactory()
    browser.post(reverse("billing:estimated-add"), {"date": "2026-04-15", "amount": "1200.00", "note": "Q1"})
    row = EstimatedPayment.objects.get()
    browser.post(
        reverse("billing:estimated-change", args=[row.pk]),
        {"date": "2026-04-16", "amount": "1000", "note": ""},
    )
    row.refresh_from_db()
    assert (row.date, row.amount, row.note) == (date(2026, 4, 16), D(1000), "")

    browser.post(reverse("billing:estimated-remove", args=[row.pk]))

    assert not EstimatedPayment.objects.exists()


def test_estimated_tax_paid_in_january_counts_for_the_year_before(browser, settings):
    settings.TODAY = date(2027, 1, 14)
    ProfileFactory(set_aside_percent=D(25))
    adding = reverse("billing:estimated-add")
    proposed = browser.get(adding).context["form"]["tax_year"].value()
    typed = {"date": "2027-01-14", "amount": "1300", "tax_year": proposed, "note": ""}

    saved = browser.post(adding, typed)

    assert (proposed, saved.headers["Location"]) == (2026, "/year/2026/")
    assert [row.paid for row in page(browser).context["page"].quarters] == [D(0), D(0), D(0), D(1300)]
    assert "Estimated tax, Jan 14, 2027" in words(page(browser))
    assert "Estimated tax, Jan 14, 2027" not in words(page(browser, 2027))


def test_estimated_tax_on_a_closed_day_is_refused(browser):
    ProfileFactory(closed_through=date(2026, 4, 30))

    answer = browser.post(reverse("billing:estimated-add"), {"date": "2026-04-15", "amount": "1200.00"})

    assert "2026-04-15 is closed for good" in words(answer)
    assert not EstimatedPayment.objects.exists()


def test_the_sales_tax_of_any_days_is_shown(browser):
    ProfileFactory()
    TaxRate.objects.create(name="State", valid_from=date(2015, 1, 1), rate=5)
    work = trim(on=date(2026, 5, 4), price="100")
    work.service.taxable = True
    work.service.save()
    close_days(date(2026, 5, 4), date(2026, 5, 4), DAY)
    record_payment(Invoice.objects.get().client, date(2026, 8, 1), D(105), "cash")
    address = reverse("billing:sales-tax")

    spring = words(browser.get(address, {"begin": "2026-05-01", "end": "2026-05-31"}))
    now = words(browser.get(address))

    assert "Sales tax: $5.00 invoiced, $0.00 received." in spring
    assert "Invoiced 100.00 0.00 5.00 Received 0.00 0.00 0.00" in spring
    assert "October 1, 2026 to December 31, 2026 Nothing was taxed." in now
    assert "differs from state to state. Nothing is taxed until you mark it as taxed." in now


def test_days_that_cannot_be_are_refused_beside_their_field(browser):
    ProfileFactory()

    answer = browser.get(reverse("billing:sales-tax"), {"begin": "2026-05-31", "end": "2026-05-01"})

    assert answer.context["form"].errors == {"end": ["This day is before the first one."]}
    assert "Choose the dates." in words(answer)


def test_the_settings_say_that_nothing_is_taxed_until_the_practice_says_so(browser):
    ProfileFactory()

    said = words(browser.get(reverse("practice:settings-billing")))

    assert "differs from state to state. Nothing is taxed until you check it here" in said
    assert "no tax is calculated" in said


def test_the_chart_says_which_month_was_best_and_its_table_has_every_month(browser):
    ProfileFactory(country="GB", currency="GBP", locale="en-GB")
    client = ClientFactory()
    for day, amount in ((date(2026, 4, 6), 100), (date(2026, 6, 5), 40), (date(2027, 4, 5), 60)):
        record_payment(client, day, D(amount), "cash")

    chart = page(browser).context["page"].chart

    assert chart.description == "The best month was 6 April to 5 May, with 100.00."
    assert [(row.name, row.cells[0]) for row in chart.table.rows if row.cells[0] != "0.00"] == [
        ("6 April to 5 May", "100.00"),
        ("6 May to 5 June", "40.00"),
        ("6 March to 5 April", "60.00"),
    ]
    assert [(row.name, row.cells[0]) for row in chart.table.sums][-2:] == [
        ("Q4", "60.00"),
        ("2026/27", "200.00"),
    ]


def test_refunds_and_bounced_checks_are_told_apart(browser):
    ProfileFactory()
    client = ClientFactory()
    for amount, bounced in ((300, False), (-40, False), (-100, True)):
        record_payment(client, date(2026, 5, 4), D(amount), "check", bounced=bounced)

    said = words(page(browser))

    assert "Refunds taken off 40.00 Bounced checks taken off 100.00" in said


def test_a_check_that_bounced_is_entered_below_zero(db):
    ProfileFactory()
    client = ClientFactory()

    with pytest.raises(RuleBroken, match="A bounced check is below zero"):
        record_payment(client, DAY, D(5), "check", bounced=True)
    record_payment(client, DAY, D(-5), "check", bounced=True)

    assert [(row.amount, row.bounced) for row in Payment.objects.all()] == [(D(-5), True)]


def test_what_counts_only_by_actual_costs_has_a_sum_of_its_own(browser):
    """Parking stands beside the American rate; Australia's covers all that a car costs."""
    profile = ProfileFactory(mileage_scheme="us_standard")
    for category, amount in (("office", 30), ("vehicle fuel", 60), ("parking and tolls", 5)):
        ExpenseFactory(date=date(2026, 8, 4), category=category, amount=D(amount))

    american = words(page(browser))
    profile.mileage_scheme, profile.country, profile.distance_unit = "au_cents_per_km", "AU", "km"
    profile.save()
    australian = words(page(browser))

    sums = "Beside the standard rate {} Only by actual vehicle costs {} Total, without materials 95.00"
    assert sums.format("35.00", "60.00") in american
    assert "Parking and tolls, on top of either 5.00" in american
    assert sums.format("30.00", "65.00") in australian
    assert "Parking and tolls, not added to the standard rate 5.00" in australian
