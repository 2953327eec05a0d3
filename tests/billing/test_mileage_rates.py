"""Dated mileage rates in the book: brought by the program, added and changed by the practice."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from billing.actions.known_rates import bring_known_rates, known_rates
from billing.actions.mileage_rates import save_rate, undo_rate
from billing.models import MileageRate
from practice.lib.errors import RuleBroken
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from tests.factories.billing import MileageRateFactory
from tests.factories.practice import ProfileFactory

pytestmark = pytest.mark.django_db
D = Decimal
LAST_US = {"scheme": "us_standard", "valid_from": date(2026, 7, 1)}


def test_a_new_book_holds_every_rate_that_the_program_knows():
    known = {(row.scheme, row.as_rate) for row in known_rates()}

    book = {
        (scheme, rate)
        for scheme in ("us_standard", "uk_simplified", "au_cents_per_km")
        for rate in MileageRate.objects.of_scheme(scheme).as_rates()
    }

    assert book == known
    assert all(row.source and row.certainty for row in known_rates())


def test_bringing_the_known_rates_again_leaves_what_the_practice_changed():
    MileageRate.objects.filter(**LAST_US).update(rate=D("0.8"), from_program=False)
    MileageRate.objects.filter(valid_from=date(2025, 1, 1)).update(rate=D("0.1"))

    bring_known_rates()

    assert MileageRate.objects.get(**LAST_US).rate == D("0.8")
    assert MileageRate.objects.get(valid_from=date(2025, 1, 1)).rate == D("0.7")
    assert MileageRate.objects.count() == len(known_rates())


def test_a_changed_rate_is_the_practices_own_and_can_be_put_back():
    rate = MileageRate.objects.get(**LAST_US)
    rate.rate = D("0.79")

    save_rate(rate)
    own = list(MileageRate.objects.own().values_list("rate", "certainty"))
    undo_rate(rate)

    assert own == [(D("0.79"), "")]
    assert not MileageRate.objects.own().exists()
    assert MileageRate.objects.get(**LAST_US).rate == D("0.76")


def test_undoing_an_added_rate_deletes_it():
    rate = MileageRateFactory()

    undo_rate(rate)

    assert not MileageRate.objects.filter(pk=rate.pk).exists()


def test_a_rate_of_closed_days_stands():
    ProfileFactory(closed_through=date(2026, 12, 31))
    rate = MileageRate.objects.get(**LAST_US)
    rate.valid_from = date(2027, 1, 1)

    with pytest.raises(RuleBroken, match="2026-07-01 is closed for good"):
        save_rate(rate)

    assert MileageRate.objects.filter(**LAST_US, from_program=True).exists()


def post_rate(browser, **typed):
    form = {"scheme": "us_standard", "valid_from": "2027-01-01", "tier_from": "0", "rate": "0.78"}
    return browser.post(reverse("billing:mileage-rate-add"), form | typed)


def test_a_rate_is_added_on_its_page(browser):
    answer = post_rate(browser, source="Notice, typed by hand")

    assert answer.headers["Location"] == "/mileage-rates/?scheme=us_standard"
    assert list(MileageRate.objects.own().values_list("valid_from", "valid_to", "rate", "source")) == [
        (date(2027, 1, 1), None, D("0.78"), "Notice, typed by hand")
    ]


@pytest.mark.parametrize(
    ("typed", "errors"),
    [
        ({"rate": "72,5x"}, {"rate": ["Type a number such as 0.725."]}),
        ({"rate": "-1"}, {"rate": ["Type a number of at least 0, such as 0.725."]}),
        ({"valid_to": "2026-12-31"}, {"valid_to": ["This day is before the first one."]}),
        (
            {"valid_from": "2026-07-01"},
            {"__all__": ["There is already a rate from that day and distance. Change it."]},
        ),
    ],
)
def test_a_rate_that_cannot_be_is_refused_beside_its_field(browser, typed, errors):
    answer = post_rate(browser, **typed)

    assert answer.context["form"].errors == errors
    assert not MileageRate.objects.own().exists()


def test_a_known_rate_keeps_its_day_and_tier_when_it_is_changed(browser):
    rate = MileageRate.objects.get(**LAST_US)
    form = {"scheme": "uk_simplified", "valid_from": "2020-01-01", "tier_from": "5", "rate": "0.77"}

    browser.post(rate.get_absolute_url(), form)

    assert list(MileageRate.objects.own().values_list("scheme", "valid_from", "tier_from", "rate")) == [
        ("us_standard", date(2026, 7, 1), D(0), D("0.77"))
    ]


def test_the_button_says_whether_a_rate_is_undone_or_deleted(browser):
    added, changed = MileageRateFactory(), MileageRate.objects.get(**LAST_US)
    save_rate(changed)

    labels = [
        [act["label"] for act in browser.get(rate.get_absolute_url()).context["more_acts"]]
        for rate in (added, changed, MileageRate.objects.get(valid_from=date(2025, 1, 1)))
    ]

    assert labels == [["Delete"], ["Undo my changes"], []]


def test_the_page_says_when_todays_rate_is_only_carried_on(browser, settings):
    ProfileFactory(mileage_scheme="us_standard")
    address = reverse("billing:mileage-rate-list")

    said = []
    for settings.TODAY in (date(2026, 12, 31), date(2027, 1, 1)):
        page = browser.get(address).content.decode()
        said.append(("<h1>0.76 per mile.</h1>" in page, "<h1>0.76 per mile, provisional.</h1>" in page))

    assert said == [(True, False), (False, True)]


def test_only_the_practices_own_rates_are_exported_and_come_back_alike(tmp_path):
    ProfileFactory()
    MileageRateFactory(source="Notice 2027-1")
    save_rate(MileageRate.objects.get(**LAST_US))
    export_book(tmp_path / "out")
    MileageRate.objects.all().delete()
    bring_known_rates()

    report = import_book(tmp_path / "out")
    export_book(tmp_path / "again")

    text = (tmp_path / "out" / "mileage_rates.csv").read_bytes()
    assert report.problems == []
    assert text.decode().splitlines() == [
        "scheme,from,rate,to,tier_from,source",
        "us_standard,2026-07-01,0.76,2026-12-31,0,"
        "IRS Announcement 2026-11 (IRB 2026-29 p.49; 2026-07-13) modifying Notice 2026-10",
        "us_standard,2027-01-01,0.78,,0,Notice 2027-1",
    ]
    assert (tmp_path / "again" / "mileage_rates.csv").read_bytes() == text


def test_an_imported_rate_that_ends_before_it_begins_is_named(tmp_path):
    ProfileFactory()
    (tmp_path / "mileage_rates.csv").write_text(
        "scheme,from,rate,to\nus_standard,2027-01-01,0.78,2026-01-01\n"
    )

    assert [str(problem) for problem in import_book(tmp_path).problems] == [
        "mileage_rates.csv:2: to: 2026-01-01 is before 2027-01-01"
    ]
