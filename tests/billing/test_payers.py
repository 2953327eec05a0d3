"""Who pays for a horse: its owners, or someone else from a day on."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.payers import OtherPayer, Share, payers_on, sole_payer

D = Decimal
OWNERS = [Share("ann", D(60)), Share("ben", D(40))]
MAY, JUNE, JULY = (date(2026, month, 1) for month in (5, 6, 7))


def who(others, service=None, on=JUNE):
    return [share.client for share in payers_on(on, "moss", service, OWNERS, others)]


@pytest.mark.parametrize(
    ("others", "service", "payers"),
    [
        ([], "trim", ["ann", "ben"]),
        ([OtherPayer("moss", "tess")], "trim", ["tess"]),
        ([OtherPayer("moss", "tess")], None, ["tess"]),
        ([OtherPayer("juniper", "tess")], "trim", ["ann", "ben"]),
        ([OtherPayer("moss", "tess", service="trim")], "trim", ["tess"]),
        ([OtherPayer("moss", "tess", service="trim")], "reset", ["ann", "ben"]),
        ([OtherPayer("moss", "tess", service="trim")], None, ["ann", "ben"]),
        ([OtherPayer("moss", "tess", service="trim"), OtherPayer("moss", "uma", MAY)], "trim", ["tess"]),
        ([OtherPayer("moss", "tess", MAY), OtherPayer("moss", "uma")], "trim", ["tess"]),
        ([OtherPayer("moss", "tess", MAY), OtherPayer("moss", "uma", MAY)], "trim", ["uma"]),
    ],
)
def test_who_pays_is_the_one_for_the_service_then_the_latest_then_the_last_entered(others, service, payers):
    assert who(others, service) == payers


def test_first_and_last_day_are_included():
    others = [OtherPayer("moss", "tess", JUNE, date(2026, 6, 30))]

    found = [who(others, on=day)[0] for day in (date(2026, 5, 31), JUNE, date(2026, 6, 30), JULY)]

    assert found == ["ann", "tess", "tess", "ann"]


def test_one_client_pays_alone_also_with_two_shares():
    assert sole_payer([Share("ann", D(60)), Share("ann", D(40))]) == "ann"
    assert [sole_payer(shares) for shares in (OWNERS, [])] == [None, None]


@pytest.mark.parametrize(
    ("payer", "kept"),
    [
        (OtherPayer("moss", "tess"), OtherPayer("moss", "tess", None, JUNE)),
        (OtherPayer("moss", "tess", JUNE), OtherPayer("moss", "tess", JUNE, JUNE)),
        (OtherPayer("moss", "tess", None, MAY), OtherPayer("moss", "tess", None, MAY)),
        (OtherPayer("moss", "tess", JULY), None),
    ],
)
def test_what_falls_on_closed_days_is_cut_off_after_them(payer, kept):
    assert payer.through(JUNE) == kept
    assert payer.through(None) is None


DAYS = st.none() | st.dates(MAY, JULY)
SERVICES = st.sampled_from([None, "trim", "reset"])
OTHERS = st.lists(
    st.builds(OtherPayer, st.just("moss"), st.sampled_from("tuv"), DAYS, DAYS, SERVICES), max_size=6
)


@given(OTHERS, SERVICES, st.dates(MAY, JULY))
def test_shares_always_add_up_to_100_and_nobody_pays_out_of_force(others, service, on):
    shares = payers_on(on, "moss", service, OWNERS, others)

    assert sum(share.percent for share in shares) == 100
    in_force = {row.client for row in others if row.is_in_force(on) and row.service in (None, service)}
    assert {share.client for share in shares} <= (in_force or {"ann", "ben"})
