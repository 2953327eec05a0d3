"""An order on paper and as CSV."""

import io
import re
from decimal import Decimal

import page as page_validation
import pytest
from django.urls import reverse
from pypdf import PdfReader

from stock.actions.purchasing import ReceivedLine, cancel_order_line, receive_order
from stock.papers.orders import OrderPaperLine, file_stem, order_paper
from stock.reports.orders import order_sheet
from tests.factories.practice import DAY, ProfileFactory
from tests.factories.stock import (
    ItemFactory,
    OrderFactory,
    OrderLineFactory,
    SupplierFactory,
)

pytestmark = pytest.mark.django_db
D = Decimal


def an_order():
    tarn = SupplierFactory(name="Tarn Iron", phone="555-0100", email="orders@tarn.example")
    order = OrderFactory(ref="O-2026-0007", supplier=tarn, note="ring first", ordered_on=DAY)
    shoe = ItemFactory(name="Front shoe", pattern="plain", size="2")
    OrderLineFactory(order=order, item=shoe, unit_price=D("3.40"))
    nail = ItemFactory(name="Nails, slim No 5", pattern="slim", size="5", kind="nail")
    nails = OrderLineFactory(order=order, item=nail, quantity=500, pack_size=250, unit_price=D("0.082"))
    cancel_order_line(nails, D(100))
    gone = OrderLineFactory(order=order, item=ItemFactory(name="Gas", unit="kg"))
    cancel_order_line(gone, D(20))
    return order


def test_the_paper_asks_for_what_is_wanted_at_the_prices_expected():
    ProfileFactory(name="Garrow Farriery", phone="555-0123")

    paper = order_paper(order_sheet(an_order()))

    assert (paper.size, paper.initials, paper.contact) == ("Letter", "GF", ["555-0123"])
    assert (paper.number, paper.ordered, paper.supplier_name, paper.supplier_contact, paper.note) == (
        "O-2026-0007",
        "October 14, 2026",
        "Tarn Iron",
        ["555-0100", "orders@tarn.example"],
        "ring first",
    )
    assert (paper.asked, paper.total) == ("Please send 4 packs of 2 items", "$100.80")
    assert paper.lines == [
        OrderPaperLine("Front shoe", "plain, No 2", "2", "10", "20", "3.40", "68.00"),
        OrderPaperLine("Nails, slim No 5", "100 canceled", "2", "250", "400", "0.082", "32.80"),
    ]


def test_the_paper_has_no_total_where_a_price_is_not_known():
    order = an_order()
    OrderLineFactory(order=order)

    paper = order_paper(order_sheet(order))

    assert (paper.has_prices, paper.total, paper.lines[-1].price) == (True, "", "")


def test_figures_on_the_paper_stand_in_the_practices_language():
    ProfileFactory(country="DE", currency="EUR", locale="de-DE")

    paper = order_paper(order_sheet(an_order()))

    assert (paper.size, paper.ordered, paper.total) == ("A4", "14. Oktober 2026", "100,80\u00a0€")


def test_an_order_that_was_canceled_asks_for_nothing():
    order = OrderFactory()
    line = OrderLineFactory(order=order)
    cancel_order_line(line, D(20))

    paper = order_paper(order_sheet(order))

    assert (paper.asked, paper.lines, paper.total) == ("Canceled: please do not send anything", [], "")


def test_the_pdf_is_tagged_and_repeats_its_head_on_each_page(browser, tmp_path):
    ProfileFactory(name="Garrow Farriery")
    order = an_order()
    OrderLineFactory.create_batch(60, order=order)

    answer = browser.get(reverse("stock:order-pdf", args=[order.pk]))

    path = tmp_path / "order.pdf"
    path.write_bytes(answer.content)
    assert page_validation.validate_pdf(str(path), profile="ua1").is_compliant
    reader = PdfReader(io.BytesIO(answer.content))
    assert reader.metadata.title == "Order O-2026-0007, Garrow Farriery"
    assert [len(re.findall("Per pack", page.extract_text())) for page in reader.pages] == [1] * 3
    assert answer.headers["Content-Disposition"] == 'inline; filename="order-o-2026-0007.pdf"'


def test_the_csv_says_what_was_ordered_came_and_was_canceled(browser):
    order = an_order()
    shoes = order.lines.order_by("pk").first()
    receive_order(order, [ReceivedLine(shoes, D(5), D(3))], on=DAY)

    answer = browser.get(reverse("stock:order-csv", args=[order.pk]))

    assert answer.content.decode() == (
        "order,date,supplier,item,pattern,size,unit,packs,pack_size,quantity,unit_price,cancelled,received,to_come\r\n"
        "O-2026-0007,2026-10-14,Tarn Iron,Front shoe,plain,2,each,2,10,20,3.4,0,5,15\r\n"
        'O-2026-0007,2026-10-14,Tarn Iron,"Nails, slim No 5",slim,5,each,2,250,500,0.082,100,0,400\r\n'
        "O-2026-0007,2026-10-14,Tarn Iron,Gas,,,kg,2,10,20,,20,0,0\r\n"
    )
    assert answer.headers["Content-Disposition"] == 'attachment; filename="order-o-2026-0007.csv"'


def test_a_file_is_named_safely_whatever_an_import_called_the_order():
    orders = [OrderFactory(ref=ref) for ref in ("7/../x", "№")]

    assert [file_stem(order_sheet(order)) for order in orders] == ["order-7x", "order-no"]
