"""What a line costs, and what a horse comes to. Pure."""

from decimal import Decimal

import pytest

from practice.rules.charges import horse_amount, line_amount, unit_price

D = Decimal


def test_a_line_is_rounded_once_by_the_price_that_holds():
    """Half away from zero, worked by hand: 2.5 × 0.085 = 0.2125, and 3 × 0.085 = 0.255."""
    assert [line_amount(D(n), D("0.085"), "USD") for n in ("2.5", "3")] == [D("0.21"), D("0.26")]
    assert [unit_price(D(0), D(5)), unit_price(None, D(5)), unit_price(None, None)] == [0, 5, None]


@pytest.mark.parametrize(
    ("work", "materials", "amount"),
    [
        ([(D(1), D(175))], [(D(2), D(14)), (D(4), None)], D(203)),
        ([(D(1), D(0))], [], D(0)),
        ([(D(1), D(175)), (D(1), None)], [], None),
        ([], [(D(2), D(14))], None),
    ],
)
def test_a_horse_comes_to_its_lines_or_to_nothing_certain(work, materials, amount):
    assert horse_amount(work, materials, "USD") == amount
