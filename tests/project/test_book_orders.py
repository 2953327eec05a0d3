"""Orders in the book: out, into an empty book, out again; and what a folder may not say of them."""

from datetime import date
from decimal import Decimal

import pytest

from practice.lib.profile import Profile
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from stock.actions.movements import reverse_movements
from stock.actions.purchasing import (
    NewLine,
    ReceivedLine,
    cancel_order_line,
    place_order,
    receive_order,
)
from stock.models import Item, Order, OrderLine, Purchase, Supplier
from stock.reports.orders import on_order
from tests.project.test_book_errors import complaints, put

pytestmark = pytest.mark.django_db
D = Decimal
DAY = date(2026, 10, 20)
UUID = "8d6f2b1e-52cf-4a37-9b34-0a6b5f7d1c22"
ORDERED = {
    "suppliers_csv": "ref,name\ntarn,Tarn Iron\n",
    "items_csv": "ref,name,kind,unit,pack_size,supplier\nshoe,Shoe,shoe,each,10,tarn\n"
    "nail,Nail,nail,each,250,\n",
    "orders_csv": "ref,date,supplier,note,expected\no1,2026-10-02,tarn,ring first,2026-10-30\n"
    f"{UUID},2026-10-09,,,\n",
    "order_lines_csv": "order,item,packs,pack_size,unit_price,cancelled\no1,shoe,2,10,3.40,5\n"
    f"o1,nail,1,250,,\n{UUID},shoe,3,12,,\n",
    "purchases_csv": "date,item,quantity,unit_cost,order\n2026-10-01,shoe,10,3.40,\n"
    f"2026-10-05,shoe,15,3.55,o1\n2026-10-12,shoe,36,3.50,{UUID}\n",
}


def live():
    """Order, take in at a landed cost, take back, cancel."""
    shoe, nail = Item.objects.get(ref="shoe"), Item.objects.get(ref="nail")
    order = place_order(Supplier.objects.get(), [NewLine(nail, 2, D("0.06")), NewLine(shoe, 4)], on=DAY)
    nails, shoes = order.lines.order_by("pk")
    receive_order(order, [ReceivedLine(nails, D(300), D("0.0613"))], on=DAY, freight=D("7.77"))
    wrong = receive_order(order, [ReceivedLine(shoes, D(40), D(3))], on=DAY)
    reverse_movements(wrong)
    receive_order(order, [ReceivedLine(shoes, D(30), D("3.15"))], on=DAY)
    cancel_order_line(nails, D(200))


def test_a_season_of_orders_goes_out_and_comes_back_the_same(tmp_path, check_it_comes_back):
    assert complaints(put(tmp_path / "season", **ORDERED)) == []
    live()
    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")
    report = import_book(tmp_path / "out")
    assert (report.problems, {(row["new"], row["updated"]) for row in report.files}) == ([], {(0, 0)})


def test_orders_go_out_with_packs_and_what_was_cancelled(tmp_path):
    import_book(put(tmp_path / "season", **ORDERED))
    live()

    export_book(tmp_path / "out")

    def text(name):
        return (tmp_path / "out" / name).read_bytes().decode().replace("\r\n", "\n")

    assert text("orders.csv") == (
        f"ref,date,supplier,note,expected\no1,2026-10-02,tarn,ring first,2026-10-30\n{UUID},2026-10-09,,,\n"
        "O-2026-0001,2026-10-20,tarn,,\n"
    )
    assert text("order_lines.csv") == (
        "order,item,packs,pack_size,unit_price,cancelled\no1,shoe,2,10,3.4,5\no1,nail,1,250,,0\n"
        f"{UUID},shoe,3,12,,0\nO-2026-0001,nail,2,250,0.06,200\nO-2026-0001,shoe,4,10,,0\n"
    )
    assert text("purchases.csv").splitlines()[-3:] == [
        "2026-10-20,nail,300,0.0872,tarn,,,,O-2026-0001,,",
        "2026-10-20,shoe,40,3,tarn,,,,O-2026-0001,,",
        "2026-10-20,shoe,30,3.15,tarn,,,,O-2026-0001,,",
    ]


def test_what_a_folder_ordered_and_received_counts_as_on_order(tmp_path):
    import_book(put(tmp_path / "season", **ORDERED))

    assert on_order(DAY) == {Item.objects.get(ref="nail").pk: 250}
    assert list(Purchase.objects.order_by("pk").values_list("order_line__order__note", flat=True)) == [
        None,
        "ring first",
        "",
    ]


CASES = {
    "a delivery of an order that is not there": (
        {"purchases_csv": "+2026-10-12,shoe,1,1,o9\n"},
        ['purchases.csv:5: order: "o9" is not in orders.csv'],
    ),
    "a delivery of what was not ordered": (
        {"purchases_csv": f"+2026-10-12,nail,1,1,{UUID}\n"},
        [f'purchases.csv:5: order: "{UUID}" has no line for "nail"'],
    ),
    "a delivery before its order": (
        {"purchases_csv": "+2026-10-01,shoe,1,1,o1\n"},
        ["purchases.csv:5: date: 2026-10-01 is before the order was placed, on 2026-10-02"],
    ),
    "an item twice on an order": (
        {"order_lines_csv": "+o1,shoe,1,10,,\n"},
        ['order_lines.csv:5: "o1, shoe" appears twice in order_lines.csv'],
    ),
    "a line of no packs": (
        {"order_lines_csv": f"+{UUID},nail,0,10,,\n"},
        ['order_lines.csv:5: packs: "0" is not a whole number from 1 to 999999999'],
    ),
    "half a pack": (
        {"order_lines_csv": f"+{UUID},nail,1.5,10,,\n"},
        ['order_lines.csv:5: packs: "1.5" is not a whole number from 1 to 999999999'],
    ),
    "more packs than a number holds": (
        {"order_lines_csv": f"+{UUID},nail,999999999,1000000,,\n"},
        ["order_lines.csv:5: packs: 999999999 packs of 1000000 are too many"],
    ),
    "more cancelled than ordered": (
        {"order_lines_csv": f"+{UUID},nail,2,250,,501\n"},
        ["order_lines.csv:5: cancelled: 501 is more than was ordered, 500"],
    ),
    "an order of an unknown supplier": (
        {"orders_csv": "+o2,2026-10-09,cobb,,\n"},
        ['orders.csv:4: supplier: "cobb" is not in suppliers.csv'],
    ),
    "an order expected before it was placed": (
        {"orders_csv": "+o2,2026-10-09,,,2026-10-08\n"},
        ["orders.csv:4: expected: 2026-10-08 is before the order was placed, on 2026-10-09"],
    ),
}


def folder(path, changed):
    files = dict(ORDERED)
    for name, text in changed.items():
        files[name] = files[name] + text[1:] if text.startswith("+") else text
    return put(path, **files)


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_an_error_of_an_order_is_named_and_nothing_is_changed(case, tmp_path):
    changed, expected = case

    assert complaints(folder(tmp_path / "book", changed)) == expected
    assert OrderLine.objects.count() == 0


def test_a_folder_from_before_orders_had_an_expected_day_is_read_and_known_again(tmp_path):
    old = {"orders_csv": f"ref,date,supplier,note\no1,2026-10-02,tarn,ring first\n{UUID},2026-10-09,,\n"}
    import_book(put(tmp_path / "book", **ORDERED | old))
    assert set(Order.objects.values_list("expected_on", flat=True)) == {None}
    Order.objects.update(expected_on="2026-10-30")

    report = import_book(tmp_path / "book")

    assert (report.problems, {(row["new"], row["updated"]) for row in report.files}) == ([], {(0, 0)})


KNOWN = {
    "another expected day": (
        {"orders_csv": "ref,date,expected\no1,2026-10-02,2026-10-31\n"},
        ["orders.csv:2: expected: the book has '2026-10-30' here, which an import cannot change"],
    ),
    "another day": (
        {"orders_csv": "ref,date\no1,2026-10-03\n"},
        ["orders.csv:2: date: the book has '2026-10-02' here, which an import cannot change"],
    ),
    "other packs": (
        {"order_lines_csv": "order,item,packs,pack_size\no1,shoe,3,10\n"},
        ["order_lines.csv:2: packs: the book has '2' here, which an import cannot change"],
    ),
    "another unit of an item that is on order only": (
        {"items_csv": "ref,name,kind,unit\nnail,Nail,nail,box\n"},
        ["items.csv:2: unit: Nail is counted in each; this cannot be changed once it has been used"],
    ),
    "a line more of an order of a closed day": (
        {"order_lines_csv": f"order,item,packs,pack_size\n{UUID},nail,3,10\n"},
        ["order_lines.csv:2: order: 2026-10-09 is closed for good (through 2026-10-15)"],
    ),
}


@pytest.mark.parametrize("case", KNOWN.values(), ids=KNOWN.keys())
def test_an_order_in_the_book_is_not_contradicted(case, tmp_path):
    import_book(put(tmp_path / "book", **ORDERED))
    Profile.objects.update(closed_through="2026-10-15")
    changed, expected = case
    (tmp_path / "again").mkdir()
    for name, text in changed.items():
        (tmp_path / "again" / name.replace("_csv", ".csv")).write_text(text)

    assert complaints(tmp_path / "again") == expected
    assert OrderLine.objects.count() == 3
