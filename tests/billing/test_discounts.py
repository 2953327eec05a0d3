"""Discounts, negative charges and the minimum per call: published figures, and for any lines."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.crediting import CreditableLine, CreditedInvoice
from billing.rules.discounts import discounts, those_that_fit
from billing.rules.lines import (
    CHARGE,
    DISCOUNT,
    MATERIAL,
    MINIMUM,
    NO_OWNER,
    SERVICE,
    TRAVEL,
    BilledRow,
    Held,
    visit_parts,
)
from billing.rules.payers import Share
from billing.rules.totals import Tax, totals
from practice.lib.money import round_money

D = Decimal
AT_25, AT_12 = (Tax("VAT", D(25)),), (Tax("VAT", D(12)),)
SETS = ((), AT_25, AT_12)


def nets(*amounts, taxes=()):
    return [(D(amount), taxes) for amount in amounts]


# The client's discount


def test_a_discount_lowers_the_base_of_each_set_of_rates():
    # EN 16931 BR-S-08: the base of a rate is lines less allowances plus charges; BR-CO-17: its tax
    # is base × rate, to two decimals (BR-DEC); BR-CO-10 to 15: the sums. Figures computed by hand.
    billed = nets("100.00", "33.33", taxes=AT_25) + nets("50.10", taxes=AT_12) + nets("20.00")

    taken_off = discounts(billed, D(5), "EUR")
    sums = totals(billed + taken_off, "EUR")

    assert taken_off == [(D("-6.67"), AT_25), (D("-2.51"), AT_12), (D("-1.00"), ())]
    assert [(row.base, row.tax) for row in sums.taxes] == [(D("126.66"), D("31.67")), (D("47.59"), D("5.71"))]
    assert (sums.net, sums.tax, sums.total) == (D("193.25"), D("37.38"), D("230.63"))


@pytest.mark.parametrize(("percent", "amount"), [(D(0), "50.00"), (D("0.5"), "0.80")])
def test_a_discount_that_comes_to_nothing_makes_no_line(percent, amount):
    assert discounts(nets(amount), percent, "USD") == []


def test_an_allowance_and_a_charge_agree_with_en_16931_example_5():
    # Example invoice 5 of the EN 16931 validation artefacts: less 150, plus 150, prepaid 2,337.50. BR-CO-11
    # to BR-CO-13: net = lines − allowances + charges; BR-CO-16: due = gross − prepaid.
    billed = nets("1000", "500", taxes=AT_25) + nets("2500", taxes=AT_12) + nets("150", taxes=AT_25)
    allowance = nets("-150", taxes=AT_25)

    kept = those_that_fit(billed, allowance)
    sums = totals(billed + [allowance[index] for index in kept], "EUR")

    assert [(row.base, row.tax) for row in sums.taxes] == [(1500, 375), (2500, 300)]
    assert (sums.net, sums.total - D("2337.50")) == (4000, D("2337.50"))


def test_a_negative_charge_agrees_with_en_16931_example_1():
    # Example invoice 1 of the EN 16931 validation artefacts; its line of −109.98 at 6 % as a charge.
    at_6, at_21 = (Tax("VAT", D(6)),), (Tax("VAT", D(21)),)
    sold = ["19.90", "9.85", "8.29", "14.46", "35.00", "35.00", "10.65", "1.55", "14.37", "8.29"]
    billed = nets(*sold, "16.58", "9.95", "3.30", "3.90", "102.12", taxes=at_6)
    billed += nets("10.80", "7.60", "9.34", "18.63", taxes=at_21)
    returned = nets("-109.98", taxes=at_6)

    kept = those_that_fit(billed, returned)
    sums = totals(billed + [returned[index] for index in kept], "EUR")

    assert [(row.base, row.tax) for row in sums.taxes] == [(D("183.23"), D("10.99")), (D("46.37"), D("9.74"))]
    assert (sums.net, sums.tax, sums.total) == (D("229.60"), D("20.73"), D("250.33"))


# Negative charges


@pytest.mark.parametrize(
    ("negative", "kept"),
    [
        (nets("-60", "-41"), [0]),
        (nets("-41", "-60"), [0]),
        (nets("-101", "-40"), []),
        (nets("-100"), [0]),
        (nets("-30", taxes=AT_25) + nets("-40", "-40"), [0, 1]),
        (nets("-61", taxes=AT_25) + nets("-10"), [1]),
        (nets("-10") + nets("-50", "-11", taxes=AT_25) + nets("-10"), [0, 1, 3]),
        (nets("-5", taxes=AT_12), []),
    ],
)
def test_of_what_would_be_below_zero_the_last_entered_waits(negative, kept):
    """Of an invoice of 100.00, 60.00 of it at 25 %: first each base is looked at, then the net."""
    assert those_that_fit(nets("60", taxes=AT_25) + nets("40"), negative) == kept


AMOUNTS = st.integers(1, 30_000).map(lambda cents: D(cents) / 100)
PARTS = st.lists(st.tuples(AMOUNTS, st.sampled_from(SETS)), max_size=6)
PERCENTS = st.integers(0, 1000).map(lambda tenths: D(tenths) / 10)


def below_zero(lines):
    return [taxes for taxes in SETS if taxes and sum(net for net, of in lines if of == taxes) < 0]


def left_out_one_by_one(lines, negative):
    """Return which negative charges stay, looking anew at the whole invoice after each that waits."""
    kept = list(range(len(negative)))
    while True:
        issued = lines + [negative[index] for index in kept]
        if low := below_zero(issued):
            kept.remove(max(index for index in kept if negative[index][1] in low))
        elif sum(net for net, _ in issued) < 0:
            kept.pop()
        else:
            return kept


@given(PARTS, PARTS, PARTS, PERCENTS)
def test_neither_a_base_nor_the_net_is_ever_below_zero(parts, charges, lowering, percent):
    negative = [(-net, taxes) for net, taxes in lowering]
    lines = [*parts, *charges, *discounts(parts, percent, "USD")]

    kept = those_that_fit(lines, negative)

    issued = lines + [negative[index] for index in kept]
    assert below_zero(issued) == []
    assert sum(net for net, _ in issued) >= 0
    assert kept == left_out_one_by_one(lines, negative)


@given(PARTS, PARTS, PERCENTS)
def test_a_discount_comes_to_the_percent_of_each_set_and_never_to_more(parts, charges, percent):
    taken_off = discounts(parts, percent, "USD")

    for taxes in SETS:
        base = sum((net for net, of in parts if of == taxes), D(0))
        off = sum((net for net, of in taken_off if of == taxes), D(0))
        assert -off == round_money(base * percent / 100, "USD") <= base
    assert len({taxes for _, taxes in taken_off}) == len(taken_off)


@given(PARTS.filter(bool), PERCENTS, st.data())
def test_lines_credited_in_any_order_take_their_discount_with_them(parts, percent, data):
    lines = [CreditableLine(SERVICE, net, taxes) for net, taxes in parts]
    lines += [CreditableLine(DISCOUNT, net, taxes) for net, taxes in discounts(parts, percent, "USD")]
    sums = totals([(line.net, line.taxes) for line in lines], "USD")
    left = CreditedInvoice(lines, sums.net, sums.tax, "USD")

    for number in data.draw(st.permutations(range(1, len(parts) + 1))):
        if number in left.named_left:
            note = left.propose({number: None})
            left.credit(note.lines, note.tax)

    assert (left.net_left, left.tax_left, set(left.left.values())) == (0, 0, {0})


# The minimum per call


def work(horse, price):
    return BilledRow(SERVICE, horse, "trim", D(1), D(price), taxable=True)


def shared(*horses, **percents):
    """Return who pays for trims, and for all else, of these horses."""
    shares = [Share(client, D(percent)) for client, percent in percents.items()]
    return {(horse, service): shares for horse in horses for service in ("trim", None)}


def billed_as(entries, owners, travel="0", minimum="0", taxable=False):
    parts = visit_parts(entries, owners, D(travel), AT_25, "USD", taxable, D(minimum))
    return [(row.kind, row.horse, row.client, row.code, row.net) for row in parts]


def test_the_minimum_is_shared_among_the_horses_then_the_owners():
    parts = billed_as([work("A", "10"), work("B", "20")], shared("A", "B", ann=70, ben=30), "5", "45.05")

    assert [row for row in parts if row[0] == CHARGE] == [
        (CHARGE, "A", "ann", MINIMUM, D("3.52")),
        (CHARGE, "A", "ben", MINIMUM, D("1.51")),
        (CHARGE, "B", "ann", MINIMUM, D("3.51")),
        (CHARGE, "B", "ben", MINIMUM, D("1.51")),
    ]
    assert sum(row[-1] for row in parts) == D("45.05")
    assert [row[0] for row in parts[-8:]] == [TRAVEL] * 4 + [CHARGE] * 4


@pytest.mark.parametrize(
    ("price", "travel", "minimum"),
    [("40", "5", "45"), ("0", "0", "45"), ("30", "0", "0"), ("44.99", "5", "45")],
)
def test_there_is_no_minimum_charge_where_enough_or_nothing_is_billed(price, travel, minimum):
    kinds = [row[0] for row in billed_as([work("A", price)], shared("A", ann=100), travel, minimum)]

    assert CHARGE not in kinds


def test_a_minimum_that_nobody_pays_holds_the_visit_back():
    who_pays = {("A", "trim"): [Share("ann", D(100))]}

    assert visit_parts([work("A", "10")], who_pays, D(0), (), "USD", minimum=D(45)) == Held(NO_OWNER, "A")


@pytest.mark.parametrize(("taxable", "taxes"), [(True, AT_25), (False, ())])
def test_the_minimum_is_taxed_like_travel(taxable, taxes):
    parts = visit_parts([work("A", "10")], shared("A", ann=100), D(0), AT_25, "USD", taxable, D(45))

    assert [(row.net, row.unit_price, row.quantity, row.taxes) for row in parts[1:]] == [(35, 35, 1, taxes)]


def test_materials_with_a_price_count_toward_the_minimum():
    pad = BilledRow(MATERIAL, "A", "pad", D(2), D("12.50"))

    parts = billed_as([work("A", "10"), pad], shared("A", ann=100), minimum="45")

    assert parts[-1] == (CHARGE, "A", "ann", MINIMUM, D("10.00"))


@given(st.lists(st.tuples(st.sampled_from("ABC"), AMOUNTS), min_size=1, max_size=5), AMOUNTS, AMOUNTS)
def test_a_visit_bills_at_least_its_minimum_to_the_cent(entries, travel, minimum):
    entries = [work(horse, price) for horse, price in entries]

    parts = billed_as(entries, shared(*"ABC", ann="33.4", ben="66.6"), travel, minimum)

    billed = sum(entry.price for entry in entries) + travel
    assert sum(row[-1] for row in parts) == max(billed, minimum)
    assert all(row[-1] >= 0 for row in parts)
