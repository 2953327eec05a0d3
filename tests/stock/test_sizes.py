"""The size grid: sizes in the trade's order, sides in pairs, states by word."""

from decimal import Decimal

import pytest

from stock.reports.sizes import size_key, size_rows
from tests.factories.practice import ProfileFactory
from tests.factories.stock import ItemFactory, receipt

pytestmark = pytest.mark.django_db
D = Decimal


def shown(grid):
    """Each row as its words and what its cells say."""
    return [
        (
            f"{row.label} {row.detail}".strip(),
            [(str(cell.on_hand), cell.word) if cell.item else "-" for cell in row.cells],
        )
        for row in grid.rows
    ]


def test_sizes_stand_in_the_order_of_the_trade():
    # Double and treble naughts below naught: the makers' size charts, from memory.
    sizes = ["10", "2", "E12", "0", "000", "5 1/2", "00", "5", "1", "Pony", "4/0", "E5"]

    assert sorted(sizes, key=size_key) == [
        *("000", "00", "0", "1", "2", "4/0", "5", "5 1/2", "10"),
        *("E5", "E12", "Pony"),
    ]


def test_a_pair_is_one_left_and_one_right_and_the_grid_says_no_pair_where_a_side_is_out():
    right = [ItemFactory(pattern="bar", size=size, side="right", fits="hind") for size in ("1", "2", "3")]
    plain = ItemFactory(pattern="plain", size="1", fits="hind")
    left = [ItemFactory(pattern="bar", size=size, side="left", fits="hind") for size in ("1", "2")]
    items = [*right, plain, *left]
    on_hand = dict(zip([item.pk for item in items], map(D, (5, 0, 2, 9, 6, 3)), strict=True))

    grid = size_rows(items, on_hand)

    assert grid.sizes == ["1", "2", "3"]
    assert shown(grid) == [
        ("bar hind, left", [("6", ""), ("3", "no pair"), "-"]),
        ("bar hind, right", [("5", ""), ("0", "none"), ("2", "no pair")]),
        ("plain hind", [("9", ""), "-", "-"]),
    ]
    assert [[cell.pairs for cell in row.cells] for row in grid.rows] == [
        [5, 0, None],
        [5, 0, 0],
        [None, None, None],
    ]


def test_a_front_and_a_hind_shoe_are_no_pair():
    left = ItemFactory(pattern="bar", size="1", side="left", fits="front")
    right = ItemFactory(pattern="bar", size="1", side="right", fits="hind")

    grid = size_rows([left, right], {left.pk: D(4), right.pk: D(4)})

    assert shown(grid) == [("bar front, left", [("4", "no pair")]), ("bar hind, right", [("4", "no pair")])]


def test_shoes_and_nails_say_low_none_and_count_in_words():
    shoes = [ItemFactory(pattern="plain", size=str(size)) for size in range(4)]
    nails = [ItemFactory(kind="nail", pattern="slim", size=size, pack_size=250) for size in ("4", "5")]
    on_hand = dict(zip([item.pk for item in shoes + nails], map(D, (4, 3, 0, -1, 62, 63)), strict=True))

    assert shown(size_rows(shoes, on_hand)) == [
        ("plain", [("4", ""), ("3", "low"), ("0", "none"), ("-1", "count")])
    ]
    assert shown(size_rows(nails, on_hand)) == [("slim", [("62", "low"), ("63", "")])]


def test_two_items_of_one_pattern_and_size_have_a_row_each():
    items = [ItemFactory(pattern="plain", size="1") for _ in range(2)]

    assert [(row.label, row.detail) for row in size_rows(items, {}).rows] == [("plain", ""), ("plain", " ·")]


def test_the_truck_shows_a_grid_of_shoes_and_one_of_nails(browser):
    ProfileFactory()
    for kind, side in (("shoe", "left"), ("shoe", "right"), ("nail", "any")):
        item = ItemFactory(name=f"{kind} {side}", kind=kind, side=side, pattern="bar", size="2")
        if side != "right":
            receipt(item, "7")

    page = browser.get("/truck/").content.decode()

    assert [heading for heading, grid in browser.get("/truck/").context["truck"].grids if grid.rows] == [
        "Shoes",
        "Nails",
    ]
    assert 'aria-label="shoe left: 7, no pair, 0 pairs"' in page
    assert 'aria-label="shoe right: 0, none, 0 pairs"' in page


def test_clips_and_material_have_rows_of_their_own():
    items = [
        ItemFactory(pattern="plain", size="1", fits="front"),
        ItemFactory(pattern="plain", size="2", fits="front", clips="side clips"),
        ItemFactory(pattern="plain", size="1", fits="front", material="aluminum"),
    ]

    rows = size_rows(items, {}).rows

    assert [(row.label, row.detail) for row in rows] == [
        ("plain", "front"),
        ("plain", "front, side clips"),
        ("plain", "front, aluminum"),
    ]
