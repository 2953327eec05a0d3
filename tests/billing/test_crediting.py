"""What a credit note takes of an invoice: worked by hand, and for any order of part credits."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.crediting import BilledPart, CreditableLine, CreditedInvoice, is_freed
from billing.rules.totals import Tax, totals
from practice.lib.errors import RuleBroken
from practice.lib.money import round_money

D = Decimal
STATE, COUNTY = Tax("State", D("4.5")), Tax("County", D("1.25"), "Ottermark")
BOTH, SIX = (STATE, COUNTY), (Tax("VAT", D(6)),)


def invoice(*lines, exempt=False):
    """Return an invoice of (kind, net, taxes)."""
    lines = [CreditableLine(kind, D(net), taxes) for kind, net, taxes in lines]
    sums = totals([(line.net, line.taxes) for line in lines], "USD", exempt)
    return CreditedInvoice(lines, sums.net, sums.tax, "USD")


def issue(billed, amounts=None):
    """Credit amounts of lines; return what the credit note takes."""
    note = billed.propose(amounts)
    billed.credit(note.lines, note.tax)
    return note


def taken(note):
    return {number: str(net) for number, net in note.lines.items()}, str(note.tax)


def test_a_credit_note_takes_all_that_is_left():
    billed = invoice(("service", "50.00", BOTH), ("travel", "12.00", ()))
    issue(billed, {1: D("20.00")})

    note = issue(billed)

    assert taken(note) == ({1: "30.00", 2: "12.00"}, "1.73")
    assert (billed.net_left, billed.tax_left) == (0, 0)


def test_a_line_without_an_amount_is_credited_by_what_is_left_of_it():
    billed = invoice(("service", "50.00", ()), ("service", "30.00", ()))

    assert taken(issue(billed, {2: None})) == ({2: "30.00"}, "0")


def test_tax_is_rounded_on_all_that_is_credited_so_far():
    """4.5 % + 1.25 % of 3.00 is 0.17; a third of it is 0.06, two thirds 0.12, so the third part is 0.05."""
    billed = invoice(*[("service", "1.00", BOTH)] * 3)

    notes = [issue(billed, {number: None}) for number in (1, 2, 3)]

    assert [str(note.tax) for note in notes] == ["0.06", "0.06", "0.05"]
    assert [[str(row.tax) for row in note.taxes] for note in notes] == [
        ["0.05", "0.01"],
        ["0.04", "0.02"],
        ["0.04", "0.01"],
    ]


def test_a_discount_goes_with_its_lines_and_lowers_the_base():
    """10 % off 50.00 + 30.00 taxed: half of the 50.00 takes 2.50 of the 8.00 along."""
    billed = invoice(
        ("service", "50.00", SIX),
        ("material", "30.00", SIX),
        ("travel", "9.00", SIX),
        ("discount", "-8.00", SIX),
    )

    note = issue(billed, {1: D("25.00")})

    assert taken(note) == ({1: "25.00", 4: "-2.50"}, "1.35")
    assert taken(issue(billed)) == ({1: "25.00", 2: "30.00", 3: "9.00", 4: "-5.50"}, "3.51")


def test_an_exempt_client_gets_no_tax_back_and_the_bases_say_so():
    billed = invoice(("service", "50.00", SIX), exempt=True)

    note = issue(billed, {1: D("20.00")})

    assert (note.tax, [(row.base, row.tax) for row in note.taxes]) == (0, [(20, 0)])


def test_an_invoice_without_lines_counts_as_one_with_its_tax_in_proportion():
    """A third of 100.00 + 7.00, then the rest."""
    billed = CreditedInvoice([], D("100.00"), D("7.00"), "USD")

    assert taken(issue(billed, {1: D("33.33")})) == ({1: "33.33"}, "2.33")
    assert taken(issue(billed)) == ({1: "66.67"}, "4.67")


@pytest.mark.parametrize(
    ("amounts", "code"),
    [
        ({1: D("50.01")}, "credit_more_than_left"),
        ({1: D("0.005")}, "credit_amount_too_fine"),
        ({1: D("-1.00")}, "credit_wrong_sign"),
        ({1: D("0.00")}, "credit_wrong_sign"),
        ({7: None}, "credit_line_unknown"),
        ({4: None}, "credit_discount_line"),
        ({3: None}, "credit_below_zero"),
        ({1: D("50.00")}, "credit_base_below_zero"),
    ],
)
def test_what_cannot_be_credited_is_refused_and_changes_nothing(amounts, code):
    billed = invoice(
        ("service", "50.00", SIX),
        ("service", "30.00", ()),
        ("charge", "-10.00", SIX),
        ("discount", "-5.00", SIX),
    )

    with pytest.raises(RuleBroken) as broken:
        issue(billed, amounts)

    assert (broken.value.code, billed.net_left) == (code, 65)


def test_nothing_left_is_told():
    billed = invoice(("service", "50.00", SIX))
    issue(billed)

    for amounts in (None, {1: None}):
        with pytest.raises(RuleBroken) as broken:
            issue(billed, amounts)
        assert broken.value.code == "credit_nothing_left"


def test_a_negative_line_is_credited_by_a_negative_amount():
    billed = invoice(("service", "50.00", SIX), ("charge", "-10.00", SIX))

    assert taken(issue(billed, {1: D("20.00"), 2: D("-5.00")})) == ({1: "20.00", 2: "-5.00"}, "0.90")


SETS = st.sampled_from([(), SIX, BOTH, (STATE,)])
LINES = st.lists(st.tuples(st.sampled_from(["service", "material", "travel"]), st.integers(1, 9999), SETS))
PARTS = st.lists(st.tuples(st.integers(0, 8), st.integers(1, 100)), max_size=12)


@given(LINES.filter(bool), st.integers(0, 30), PARTS, st.booleans())
def test_part_credits_in_any_order_and_the_rest_take_exactly_what_was_billed(lines, percent, parts, exempt):
    billed = invoice(*with_discounts(lines, percent), exempt=exempt)
    notes = []
    for which, share in parts:
        left = billed.named_left
        number = 1 + which % len(lines)
        if amount := round_money(left.get(number, D(0)) * share / 100, "USD"):
            notes.append(issue(billed, {number: amount}))
        assert billed.net_left >= 0
        assert all(row.base >= 0 for row in billed.rates_left)
    if billed.named_left:
        notes.append(issue(billed))

    assert (billed.net_left, billed.tax_left) == (0, 0)
    assert sum(note.total for note in notes) == billed.net + billed.tax
    assert all(row.base == row.tax == 0 for row in billed.rates_left)
    for note in notes:
        check_en_16931(note)


def with_discounts(lines, percent):
    """Return lines in minor units as (kind, net, taxes), with a discount on each set of rates."""
    lines = [(kind, D(units) / 100, taxes) for kind, units, taxes in lines]
    for taxes in dict.fromkeys(taxes for kind, _, taxes in lines if kind != "travel"):
        its = sum(net for kind, net, own in lines if own == taxes and kind != "travel")
        if off := round_money(its * percent / 100, "USD"):
            lines.append(("discount", -off, taxes))
    return lines


def check_en_16931(note):
    """The sums of a credit note are those of the standard: BR-CO-10, 13, 14, 15 and BR-DEC-12, 14, 20.

    BR-CO-17 and BR-S-08 hold for all that is credited of a base so far, see the rule: a single note may
    differ from its own base × rate by a minor unit for each name.
    """
    assert note.net == sum(note.lines.values())
    assert note.tax == sum(row.tax for row in note.taxes)
    assert note.total == note.net + note.tax
    amounts = [*note.lines.values(), note.tax, *(row.tax for row in note.taxes)]
    assert all(amount == round_money(amount, "USD") for amount in amounts)
    for row in note.taxes:
        if note.tax:
            assert abs(row.tax - row.base * row.rate / 100) < D("0.02")


def test_a_credit_note_of_everything_keeps_the_sums_of_en_16931_example_1():
    # Example invoice 1 of the EN 16931 validation artefacts, with its line below zero: BR-S-08, BR-CO-17.
    at_6 = ["19.90", "9.85", "8.29", "14.46", "35.00", "35.00", "10.65", "1.55", "14.37", "8.29"]
    at_6 += ["16.58", "9.95", "3.30", "3.90", "102.12", "-109.98"]
    at_21 = ["10.80", "7.60", "9.34", "18.63"]
    twenty_one = (Tax("VAT", D(21)),)
    billed = invoice(*[("charge", n, SIX) for n in at_6], *[("charge", n, twenty_one) for n in at_21])

    note = issue(billed)

    assert [(row.base, row.tax) for row in note.taxes] == [(D("183.23"), D("10.99")), (D("46.37"), D("9.74"))]
    assert (note.net, note.tax, note.total) == (D("229.60"), D("20.73"), D("250.33"))


def part(net, left, **more):
    return BilledPart(D(net), D(left), **more)


@pytest.mark.parametrize(
    ("parts", "freed"),
    [
        ([part(50, 0), part(30, 0)], True),
        ([part(50, 0), part(30, 1)], False),
        ([part(50, 0), BilledPart(None)], True),
        ([part(50, 0, corrections_only=False)], False),
        ([part(50, 0), part(0, 0)], True),
        ([part(0, 0)], False),
        ([part(0, 0, is_gone=True)], True),
        ([BilledPart(None)], False),
    ],
)
def test_a_visit_is_freed_by_corrections_of_all_its_parts(parts, freed):
    assert is_freed(parts) == freed
