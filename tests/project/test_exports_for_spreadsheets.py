"""What goes out to a spreadsheet holds no formula of a name that somebody typed; the book stays as it is."""

import csv
import io
from decimal import Decimal

import pytest

from practice.lib.profile import Profile
from practice.lib.sheet_tables import Table, columns, csv_of
from practice.project.book.exporter import export_book
from stock.actions.movements import receive_item
from tests.factories.practice import DAY, LegFactory, PlaceFactory, ProfileFactory, VehicleFactory
from tests.factories.stock import ItemFactory, LocationFactory, OrderLineFactory, SupplierFactory

pytestmark = pytest.mark.django_db
FORMULA = '=HYPERLINK("http://evil.example","Pay")'


def cells_of(answer) -> set[str]:
    text = answer.content.decode()
    return {cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row}


def test_the_mileage_log_holds_no_formula(browser):
    ProfileFactory()
    truck = VehicleFactory(name="@truck")
    LegFactory(vehicle=truck, date=DAY, origin="+home", destination="-barn", reason=FORMULA)

    cells = cells_of(browser.get(f"/road/log/csv/?from={DAY}&to={DAY}"))

    assert {"'@truck", "'+home", "'-barn", f"'{FORMULA}"} <= cells


def test_the_value_of_the_shelf_holds_no_formula(browser):
    ProfileFactory()
    shoe = ItemFactory(ref="@ref", name=FORMULA, pattern="+plain", size="-2x")
    receive_item(shoe, Decimal(2), Decimal("3.5"), on=DAY, location=LocationFactory(name="=shop"))

    cells = cells_of(browser.get(f"/shelf-value/csv/?on={DAY}"))

    assert {"'@ref", f"'{FORMULA}", "'+plain", "'-2x", "'=shop", "2", "7.0000"} <= cells


def test_an_order_holds_no_formula(browser):
    ProfileFactory()
    supplier = SupplierFactory(name="=supplier")
    line = OrderLineFactory(item__name=FORMULA, item__pattern="@p", order__supplier=supplier)

    cells = cells_of(browser.get(f"/orders/{line.order.pk}/csv/"))

    assert {f"'{FORMULA}", "'@p", "'=supplier"} <= cells


def test_a_table_of_the_pack_holds_no_formula_and_a_refund_stays_a_number():
    head = columns("client", ("amount", "amount"))

    written = csv_of(Table("Received", "received.csv", head, ((FORMULA, Decimal("-20.00")),)))

    [_, row] = csv.reader(io.StringIO(written.decode(), newline=""))
    assert row == [f"'{FORMULA}", "-20.00"]


def test_the_book_itself_stays_as_it_was_typed(tmp_path):
    ProfileFactory(name="=Garrow")
    PlaceFactory(name=FORMULA)

    export_book(tmp_path / "book")

    rows = csv.DictReader(io.StringIO((tmp_path / "book" / "places.csv").read_text(), newline=""))
    assert [row["name"] for row in rows] == [FORMULA]
    assert Profile.current().name == "=Garrow"
