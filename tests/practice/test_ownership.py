"""Who owns a horse after a sale."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from practice.rules.ownership import shares_after_sale

D = Decimal
ANN, BEN, CARA = 1, 2, 3


@pytest.mark.parametrize(
    ("shares", "seller", "expected"),
    [
        ([(ANN, D(100))], None, [(CARA, D(100))]),
        ([], None, [(CARA, D(100))]),
        ([(ANN, D(60)), (BEN, D(40))], None, [(CARA, D(100))]),
        ([(ANN, D(60)), (BEN, D(40))], ANN, [(CARA, D(60)), (BEN, D(40))]),
        ([(CARA, D(60)), (BEN, D(40))], BEN, [(CARA, D(100))]),
        ([(ANN, D(25)), (BEN, D(50)), (ANN, D(25))], ANN, [(CARA, D(50)), (BEN, D(50))]),
    ],
)
def test_the_buyer_has_what_was_sold(shares, seller, expected):
    assert shares_after_sale(shares, seller, CARA) == expected


def shares_of_100():
    """Shares in percent of one to four owners, that add up to 100."""
    cuts = st.lists(st.integers(1, 9999), min_size=0, max_size=3, unique=True).map(sorted)
    parts = cuts.map(lambda c: [b - a for a, b in zip([0, *c], [*c, 10000], strict=True)])
    return parts.map(lambda p: [(owner, D(part) / 100) for owner, part in enumerate(p)])


@given(shares_of_100(), st.lists(st.tuples(st.integers(0, 3), st.integers(0, 6)), max_size=8))
def test_after_any_sales_the_shares_add_up_to_100_and_each_owner_has_one(shares, sales):
    for seller, buyer in sales:
        sells = seller if seller in dict(shares) else None
        shares = shares_after_sale(shares, sells, buyer)

        assert sum(share for _, share in shares) == 100
        assert len(dict(shares)) == len(shares)
        assert min(share for _, share in shares) > 0
