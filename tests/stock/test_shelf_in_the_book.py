"""A shelf with everything that can happen to it: out, into an empty book, and out again."""

from datetime import date
from decimal import Decimal

import pytest

from practice.actions.visits import complete_visit, reopen_visit
from practice.actions.work import MaterialRow, save_work
from practice.lib.profile import Profile
from practice.models import Horse, Vehicle, Visit
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from stock.actions.movements import count_item, receive_item, reverse_movements, transfer_item, waste_item
from stock.models import Item, Location, Movement
from tests.project.test_book_errors import put

D = Decimal
SHELF = {
    "practice_csv": "name,locale,currency,distance_unit,country,valuation\nGarrow,en-US,USD,mi,US,{method}\n",
    "horses_csv": "ref,name,place\njuniper,Juniper,barn\nsorrel,Sorrel,barn\n",
    "owners_csv": "horse,client,share\njuniper,ann,100\nsorrel,ben,100\n",
    "locations_csv": "ref,name,vehicle\nshop,Shop,\ntruck,Truck,truck\n",
    "items_csv": "ref,name,kind,unit\nshoe,Shoe,shoe,each\nnail,Nail,nail,each\n",
    "visits_csv": "ref,date,place,status,vehicle\nv1,2026-10-14,barn,done,truck\nv2,2026-10-14,barn,done,\n"
    "v3,2026-10-20,barn,planned,truck\n",
    "work_csv": "visit,horse,service\nv1,juniper,trim\nv1,sorrel,trim\nv2,juniper,trim\nv3,sorrel,trim\n",
    "materials_csv": "visit,horse,item,quantity,foot\nv2,juniper,shoe,2,\nv1,juniper,shoe,3,\n"
    "v1,sorrel,shoe,4,\nv1,sorrel,nail,24,LF\nv3,sorrel,shoe,1,\n",
    "purchases_csv": "date,item,quantity,unit_cost,reference,location,lot,use_by\n"
    "2026-10-01,shoe,4,3.40,slip 7,truck,,\n2026-10-15,shoe,10,3.955,,,,\n"
    "2026-10-13,nail,250,0.05596,,shop,K7,2027-03-01\n",
    "counts_csv": "date,item,quantity,unit_cost,location\n2026-09-30,shoe,2,3.10,shop\n"
    "2026-09-30,shoe,1,3.20,truck\n2026-10-16,shoe,6,,shop\n",
    "count_sheets_csv": "item,location,date,quantity,unit_cost\nnail,shop,2026-10-22,180,\n",
    "stock_facts_csv": "date,item,kind,quantity,location,to_location,visit,horse,reverses,note\n"
    "2026-10-02,shoe,transfer,2,shop,truck,,,,\n2026-10-15,shoe,visit return,1,,,v1,sorrel,,\n"
    "2026-10-15,shoe,supplier return,1,,,,,,bent\n2026-10-16,nail,waste,5,truck,,,,,\n"
    "2026-10-16,nail,waste,5,truck,,,,,\n2026-10-16,nail,reversal,5,truck,,,,waste,\n"
    "2026-10-17,nail,withdrawal,8,,,,,,\n",
}


def day(number):
    return date(2026, 10, number)


def live(shelf: Item):
    """What a farrier corrects after the season came in."""
    juniper = Horse.objects.get(ref="juniper")
    first, third = Visit.objects.get(ref="v1"), Visit.objects.get(ref="v3")
    save_work(first, juniper, [], [MaterialRow(shelf, D(2)), MaterialRow(shelf, D(2), "RF")])
    complete_visit(third)
    reopen_visit(third)
    complete_visit(third)
    truck = Location.objects.get(ref="truck")
    for found in (5, 4):
        count_item(shelf, D(found), on=day(20), location=truck)
    wrong = receive_item(shelf, D(9), D("4.10"), on=day(18))
    reverse_movements([wrong])
    moved = transfer_item(shelf, D(1), on=day(19), to_location=truck)
    thrown = waste_item(shelf, D(1), on=day(19))
    Profile.objects.update(closed_through=day(21))
    reverse_movements([moved, thrown, Movement.objects.get(item=shelf, date=day(15), kind="receipt")])


@pytest.mark.slow
@pytest.mark.django_db
@pytest.mark.parametrize("method", ["moving_average", "fifo"])
def test_a_corrected_shelf_goes_out_and_comes_back_the_same(method, tmp_path, check_it_comes_back):
    files = SHELF | {"practice_csv": SHELF["practice_csv"].format(method=method)}
    assert import_book(put(tmp_path / "season", **files)).problems == []
    live(Item.objects.get(ref="shoe"))
    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")
    assert import_book(tmp_path / "out").problems == []


@pytest.mark.django_db
def test_another_method_costs_every_item_anew(tmp_path):
    practice = SHELF["practice_csv"]
    import_book(
        put(tmp_path / "season", **SHELF | {"practice_csv": practice.format(method="moving_average")})
    )
    (tmp_path / "change").mkdir()
    (tmp_path / "change" / "practice.csv").write_text(practice.format(method="fifo"))

    assert import_book(tmp_path / "change").problems == []

    export_book(tmp_path / "out")
    assert (tmp_path / "out" / "stock_movements.csv").read_bytes().decode().endswith(LEDGER)


LEDGER = """\
2026-09-30,shoe,count,2,6.2,shop,,,,2,6.2
2026-09-30,shoe,count,1,3.2,truck,,,,3,9.4
2026-10-01,shoe,receipt,4,13.6,truck,,,slip 7,7,23
2026-10-02,shoe,transfer,-2,0,shop,,,,5,23
2026-10-02,shoe,transfer,2,0,truck,,,,7,23
2026-10-13,nail,receipt,250,13.99,shop,,,,250,13.99
2026-10-14,shoe,use,-3,-9.4,truck,v1,juniper,,4,13.6
2026-10-14,shoe,use,-4,-13.6,truck,v1,sorrel,,0,0
2026-10-14,nail,use,-24,-1.343,truck,v1,sorrel,,226,12.647
2026-10-14,shoe,use,-2,-6.8,shop,v2,juniper,,-2,-6.8
2026-10-15,shoe,receipt,10,39.55,shop,,,,8,32.75
2026-10-15,shoe,correction,0,-1.11,shop,,,,8,31.64
2026-10-15,shoe,return,1,3.4,truck,v1,sorrel,,9,35.04
2026-10-15,shoe,return,-1,-3.955,shop,,,,8,31.085
2026-10-16,nail,waste,-5,-0.2798,truck,,,,221,12.3672
2026-10-16,shoe,count,-1,-3.955,shop,,,,7,27.13
2026-10-17,nail,withdrawal,-8,-0.4477,shop,,,,213,11.9195
""".replace("\n", "\r\n")  # worked by hand


@pytest.mark.django_db
def test_the_ledger_goes_out_in_its_order(tmp_path):
    files = SHELF | {"practice_csv": SHELF["practice_csv"].format(method="fifo")}
    assert import_book(put(tmp_path / "season", **files)).problems == []

    export_book(tmp_path / "out")

    header, rows = (tmp_path / "out" / "stock_movements.csv").read_bytes().decode().split("\r\n", 1)
    assert header == "date,item,kind,quantity,cost,location,visit,horse,reference,on_hand,value"
    assert rows == LEDGER


FACTS = "date,item,kind,quantity,visit,horse,reverses\n"


@pytest.mark.django_db
def test_what_was_taken_back_does_not_count_as_come_back(tmp_path):
    back, taken_back = (
        "2026-10-20,shoe,visit return,2,v1,juniper,\n",
        "2026-10-20,shoe,reversal,2,,,visit return\n",
    )

    assert import_book(put(tmp_path / "one", stock_facts_csv=FACTS + back + taken_back + back)).problems == []
    again = import_book(put(tmp_path / "two", stock_facts_csv=FACTS + back + taken_back + back + back))

    assert [str(problem) for problem in again.problems] == [
        "stock_facts.csv:5: quantity: 4 returned in all, but only 2 used at this visit"
    ]


@pytest.mark.django_db
def test_nothing_comes_back_from_a_visit_that_is_not_done(tmp_path):
    facts = FACTS + "2026-10-20,shoe,visit return,1,v2,juniper,\n"
    materials = "+v2,juniper,shoe,2\n"

    report = import_book(put(tmp_path / "book", stock_facts_csv=facts, materials_csv=materials))

    assert [str(problem) for problem in report.problems] == [
        "stock_facts.csv:2: quantity: 1 returned in all, but only 0 used at this visit"
    ]


@pytest.mark.slow
@pytest.mark.django_db
def test_a_vehicle_that_was_given_its_stock_later_leaves_its_old_uses_where_they_were(
    tmp_path, check_it_comes_back
):
    locations, method = "ref,name,vehicle\nshop,Shop,\ntruck,Truck,\n", "moving_average"
    files = SHELF | {"practice_csv": SHELF["practice_csv"].format(method=method), "locations_csv": locations}
    assert import_book(put(tmp_path / "season", **files)).problems == []
    Vehicle.objects.update(location=Location.objects.get(ref="truck"))
    # What came in before the vehicle had its stock is known, and takes nothing a second time.
    without_places = {name: text for name, text in files.items() if name != "locations_csv"}
    known = import_book(put(tmp_path / "known", **without_places))
    complete_visit(Visit.objects.get(ref="v3"))
    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")
    rows = (tmp_path / "out" / "materials.csv").read_text().splitlines()
    assert [row.rsplit(",", 1)[1] for row in rows] == ["location", "", "shop", "shop", "shop", ""]
    assert (known.problems, {row["new"] + row["updated"] for row in known.files}) == ([], {0})
