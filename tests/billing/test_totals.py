"""Tax and totals, held against published examples."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.lines import MATERIAL, SERVICE, BilledRow, Held, visit_parts
from billing.rules.payers import Share
from billing.rules.pricing import DatedPrice, LineOf, price_for, price_on, raised
from billing.rules.totals import DatedRate, Tax, by_name_and_rate, rates_on, totals
from billing.rules.travel import travel_charge
from practice.lib.money import round_money

D = Decimal
SIX, TWENTY_ONE = (Tax("VAT", D(6)),), (Tax("VAT", D(21)),)
STATE, COUNTY = Tax("State", D("4.5")), Tax("County", D("1.25"), "Ottermark")


def lines(taxes, *amounts):
    return [(D(amount), taxes) for amount in amounts]


def test_totals_agree_with_en_16931_example_1():
    # Example invoice 1 of the EN 16931 validation artefacts.
    at_6 = ["19.90", "9.85", "8.29", "14.46", "35.00", "35.00", "10.65", "1.55", "14.37", "8.29"]
    at_6 += ["16.58", "9.95", "3.30", "3.90", "102.12", "-109.98"]
    at_21 = ["10.80", "7.60", "9.34", "18.63"]

    sums = totals(lines(SIX, *at_6) + lines(TWENTY_ONE, *at_21), "EUR")

    assert [(row.base, row.tax) for row in sums.taxes] == [(D("183.23"), D("10.99")), (D("46.37"), D("9.74"))]
    assert (sums.net, sums.tax, sums.total) == (D("229.60"), D("20.73"), D("250.33"))


def test_totals_agree_with_en_16931_examples_4_and_5():
    # Example invoices 4 and 5 of the EN 16931 validation artefacts; 5 is prepaid with 2,337.50.
    at_25, at_12 = (Tax("VAT", D(25)),), (Tax("VAT", D(12)),)
    fourth = totals(lines(at_25, "1000", "500") + lines(at_12, "2500"), "EUR")
    fifth = totals(lines(at_25, "1000", "500", "-150", "150") + lines(at_12, "2500"), "EUR")

    assert (fourth.tax, fourth.total) == (675, 4675)
    assert fifth.total - D("2337.50") == D("2337.50")


def test_tax_is_rounded_once_for_the_invoice():
    # Streamlined Sales and Use Tax Agreement, s. 324; by line it would be 0.30.
    assert totals(lines(SIX, *["1.05"] * 5), "USD").tax == D("0.32")


def test_state_and_county_tax_are_worked_out_together():
    # Streamlined Sales and Use Tax Agreement, s. 324; apart it would be 0.18.
    sums = totals(lines((STATE, COUNTY), "3.00"), "USD")

    assert (sums.tax, [row.tax for row in sums.taxes]) == (D("0.17"), [D("0.13"), D("0.04")])


def test_an_exempt_client_pays_no_tax():
    sums = totals(lines(SIX, "100"), "USD", exempt=True)

    assert (sums.net, sums.tax, sums.taxes) == (100, 0, ())


def test_one_row_stands_for_a_name_and_rate():
    other = Tax("County", D("1.25"), "Fenmark")
    sums = totals(lines((STATE, COUNTY), "100") + lines((STATE, other), "50"), "USD")

    rows = [(row.name, row.rate, row.base, row.tax) for row in by_name_and_rate(sums.taxes)]

    assert rows == [("State", D("4.5"), 150, D("6.75")), ("County", D("1.25"), 150, D("1.88"))]


RATES = [
    DatedRate("State", date(2026, 1, 1), D(5)),
    DatedRate("County", date(2026, 1, 1), D(1), area="Ottermark"),
    DatedRate("State", date(2026, 7, 1), D(6)),
    DatedRate("Levy", date(2026, 1, 1), D(2), valid_to=date(2026, 3, 31)),
]


@pytest.mark.parametrize(
    ("day", "area", "expected"),
    [
        (date(2025, 12, 31), "Ottermark", []),
        (date(2026, 3, 31), "Ottermark", [("State", 5), ("County", 1), ("Levy", 2)]),
        (date(2026, 6, 30), "", [("State", 5)]),
        (date(2026, 7, 1), "Ottermark", [("State", 6), ("County", 1)]),
    ],
)
def test_rates_hold_by_day_and_area(day, area, expected):
    assert [(tax.name, tax.rate) for tax in rates_on(RATES, day, area)] == expected


def test_a_price_holds_from_its_day_on():
    rows = [(date(2026, 1, 1), D(50)), (date(2026, 6, 1), D(55)), (date(2026, 6, 1), D(56))]

    assert [price_on(rows, date(2026, *day), D(9)) for day in [(5, 31), (6, 1)]] == [50, 56]
    assert price_on(rows, date(2025, 1, 1), D(9)) == 9
    assert price_on(rows, date(2025, 1, 1)) is None


@pytest.mark.parametrize(
    ("rule", "rate", "legs", "charge"),
    [
        ("none", "5", ["3"], "0"),
        ("per_visit", "12.345", [], "12.35"),
        ("per_distance", "0.85", ["10.0", "1.2"], "9.52"),
        ("per_distance", "0.85", ["0"], "0"),
        ("per_distance", "0.85", [], None),
        ("per_distance", "0", [], "0"),
        ("round_trip", "0.85", ["10.0", "1.2"], "12.41"),
        ("round_trip", "0.85", ["0"], "2.89"),
        ("round_trip", "0.85", [], None),
        ("round_trip", "0", [], "0"),
    ],
)
def test_travel_is_charged_by_the_rule(rule, rate, legs, charge):
    found = travel_charge(rule, D(rate), [D(leg) for leg in legs], "USD", back=D("3.4"))

    assert found == (None if charge is None else D(charge))


def test_a_round_trip_that_is_not_driven_to_its_end_has_no_charge_yet_unless_it_costs_nothing():
    found = [travel_charge("round_trip", D(rate), [D(4)], "USD", back=None) for rate in ("0.85", "0")]

    assert found == [None, 0]


JUNE = date(2026, 6, 1)
PRICES = [
    DatedPrice(date(2026, 1, 1), D(50)),
    DatedPrice(JUNE, D(42), place="barn"),
    DatedPrice(JUNE, D(45), client="ann"),
    DatedPrice(JUNE, D(40), horse="moss"),
    DatedPrice(JUNE, D(38), horse="moss"),
    DatedPrice(date(2026, 7, 1), D(60)),
]


@pytest.mark.parametrize(
    ("line", "price"),
    [
        (LineOf("moss", "ann", "barn"), 38),
        (LineOf("juniper", "ann", "barn"), 45),
        (LineOf("juniper", "ben", "barn"), 42),
        (LineOf("juniper", None, "barn"), 42),
        (LineOf("juniper", None, "meadow"), 60),
        (LineOf(), 60),
    ],
)
def test_a_price_for_the_horse_goes_before_the_clients_the_places_and_the_general_one(line, price):
    assert price_for(PRICES, date(2026, 8, 1), line) == price


def test_a_special_price_holds_from_its_day_on():
    line = LineOf("moss", "ann", "barn")

    assert [price_for(PRICES, day, line, D(9)) for day in (date(2026, 5, 31), JUNE)] == [50, 38]
    assert price_for(PRICES, date(2025, 1, 1), line, D(9)) == 9


@pytest.mark.parametrize(
    ("price", "percent", "step", "new"),
    [
        ("50", "4.5", "0.50", "52.50"),
        ("50", "4.5", "1", "52"),
        ("50", "5", "1", "53"),
        ("145", "3", "5", "150"),
        ("42", "3.333", "0.01", "43.40"),
        ("0", "10", "1", "0"),
    ],
)
def test_a_raised_price_is_rounded_to_the_step_half_away_from_zero(price, percent, step, new):
    """50 × 1.045 = 52.25 and 50 × 1.05 = 52.50 are just between two steps. Worked by hand."""
    assert raised(D(price), D(percent), D(step)) == D(new)


WHOLE = {
    "A": [Share("ann", D(100))],
    "B": [Share("ben", D(60)), Share("cy", D(40))],
    "C": [Share("ann", D(100))],
}


def payers(owners):
    """Those who pay by horse and service, where no one pays but the owners."""
    return {(horse, code): shares for horse, shares in owners.items() for code in ("trim", None)}


def work(horse, price, **more):
    return BilledRow(SERVICE, horse, "trim", D(1), None if price is None else D(price), **more)


def test_travel_is_split_among_the_horses_and_then_their_owners():
    parts = visit_parts(
        [work("A", "50"), work("B", "60"), work("C", "40")], payers(WHOLE), D("10.00"), (), "USD"
    )

    travel = [
        (p.client, p.horse, p.quantity, p.unit_price, p.share, p.net) for p in parts if p.kind == "travel"
    ]
    assert travel == [
        ("ann", "A", 1, D("3.34"), 100, D("3.34")),
        ("ben", "B", 1, D("3.33"), 60, D("2.00")),
        ("cy", "B", 1, D("3.33"), 40, D("1.33")),
        ("ann", "C", 1, D("3.33"), 100, D("3.33")),
    ]


@pytest.mark.parametrize(
    ("entries", "travel", "code"),
    [
        ([work("A", None), work("Z", "5")], None, "no_price"),
        ([work("Z", "5")], None, "no_owner"),
        ([work("A", "5"), BilledRow(MATERIAL, "Z", "pad", D(1), D(9))], D(0), "no_owner"),
        ([work("A", "5")], None, "no_reach"),
        ([work("D", "5")], D(4), "no_owner"),
        ([work("D", "5")], None, "no_owner"),
    ],
)
def test_a_visit_is_held_back_for_the_first_reason(entries, travel, code):
    only_trims = {("D", "trim"): [Share("ann", D(100))]}

    held = visit_parts(entries, payers(WHOLE) | only_trims, travel, (), "USD")

    assert isinstance(held, Held) and held.code == code


def test_what_has_no_price_is_covered_and_a_typed_zero_is_shown():
    entries = [work("A", "0"), BilledRow(MATERIAL, "A", "nail", D(12), None)]

    parts = visit_parts(entries, payers(WHOLE), D(0), (), "USD")

    assert [(part.code, part.net) for part in parts] == [("trim", 0)]


def test_a_done_visit_without_work_bills_nothing_even_without_a_drive():
    pad = BilledRow(MATERIAL, "A", "pad", D(1), D(9))

    assert [visit_parts(entries, payers(WHOLE), None, (), "USD") for entries in ([], [pad])] == [[], []]


AMOUNTS = st.decimals(0, 5000, places=2)


@given(
    st.lists(st.tuples(AMOUNTS, st.decimals(0, 20, places=3), st.booleans()), min_size=1, max_size=12),
    st.lists(st.decimals("0.01", 90, places=2), min_size=1, max_size=4),
    AMOUNTS,
    st.lists(st.decimals(0, 12, places=3), min_size=1, max_size=3),
)
def test_no_invoice_differs_from_the_sum_of_its_lines(rows, weights, travel, rates):
    taxes = tuple(Tax(f"Tax {number}", rate) for number, rate in enumerate(rates))
    owners = {"H": [Share(number, weight) for number, weight in enumerate(weights)]}
    entries = [
        BilledRow(SERVICE, "H", "trim", quantity + D("0.001"), price, taxed)
        for price, quantity, taxed in rows
    ]

    parts = visit_parts(entries, payers(owners), travel, taxes, "USD")

    whole = sum(round_money(entry.quantity * entry.price, "USD") for entry in entries) + travel
    assert sum(part.net for part in parts) == whole
    for client in range(len(weights)):
        own = [(part.net, part.taxes) for part in parts if part.client == client]
        sums = totals(own, "USD")
        assert sums.total == sum(net for net, _ in own) + sum(row.tax for row in sums.taxes)
        base = sum((net for net, of in own if of), D(0))
        assert sums.tax == round_money(base * sum(rates) / 100, "USD")
