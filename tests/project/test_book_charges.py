"""Charges and discounts in the book: out, in, and out again; and what is wrong with those of a folder."""

from datetime import timedelta
from decimal import Decimal

import pytest

from billing.actions.crediting import issue_credit_note
from billing.actions.invoicing import close_days
from billing.models import Charge, InvoiceLine, TaxRate
from practice.lib.profile import Profile
from practice.models import Client, Visit
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from tests.factories.billing import ChargeFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, VisitFactory, trim
from tests.project.test_book_errors import complaints, put
from tests.recomputed.invoices import expected_invoices, rows_of

pytestmark = pytest.mark.django_db
D = Decimal
TODAY = DAY + timedelta(30)


@pytest.fixture
def charged(tmp_path):
    """Charges with and without a visit, below zero, waiting; discounts, a minimum; its export."""
    ProfileFactory(minimum_call=D(65), early_discount_percent=D(2), early_discount_days=10)
    for rate, area in ((5, ""), (2, "North")):
        TaxRate.objects.create(name=f"Tax {area}", valid_from=DAY, rate=rate, area=area)
    ann, bea = ClientFactory(ref="ann", discount=D("7.5")), ClientFactory(ref="bea", billing="monthly")
    exempt = ClientFactory(ref="cy", tax_exempt=True, discount=D(0))
    for client in (ann, bea, exempt):
        work = trim(client, price="48.10", place__area="North")
        work.service.taxable = True
        work.service.save()
        ChargeFactory(client=client, taxable=True, visit=VisitFactory(status="cancelled"), kind="no_show")
        ChargeFactory(client=client, unit_price=D("-7.77"), quantity=D("1.5"), ref=f"{client.ref}-less")
        ChargeFactory(client=client, unit_price=D(-20), taxable=True, kind="discount")
    ChargeFactory(client=ann, unit_price=D(-60), date=DAY + timedelta(1))
    ChargeFactory(client=ann, visit=Visit.objects.filter(status="done").first())
    close_days(DAY, DAY + timedelta(20), TODAY)
    issue_credit_note(ann.invoices.get(), TODAY, {1: D(10)}, reason="goodwill")
    export_book(tmp_path / "out")
    return tmp_path / "out"


def test_they_are_written_out(charged):
    kinds = [row["kind"] for row in rows_of(charged, "invoice_lines.csv")]

    head, first, second = (charged / "charges.csv").read_text(encoding="utf-8").splitlines()[:3]
    key = Charge.objects.first().key
    assert head == "ref,date,client,name,quantity,unit_price,taxable,visit,kind"
    assert first.startswith(f"{key},2026-10-14,ann,No-show,1,25,yes,") and first.endswith(",no_show")
    assert second == "ann-less,2026-10-14,ann,No-show,1.5,-7.77,no,,other"
    assert (kinds.count("charge"), kinds.count("discount")) == (13, 1)
    line = next(row for row in rows_of(charged, "invoice_lines.csv") if row["kind"] == "discount")
    assert (line["visit"], line["horse"], line["code"], line["unit_price"], line["percent"]) == (
        *("", "", "", "-3.61", "7.5"),
    )


def test_every_invoice_is_what_the_files_say(charged):
    issued = [
        (row["number"], row["client"], row["issued"], *(int(row[c].replace(".", "")) for c in ("net", "tax")))
        for row in rows_of(charged, "invoices.csv")
    ]

    assert len(issued) == 3
    assert issued == expected_invoices(charged, through="2026-10-31")


def test_what_is_in_the_book_is_known(charged):
    report = import_book(charged)

    assert report.problems == []
    assert {(row["new"], row["updated"]) for row in report.files} == {(0, 0)}


@pytest.mark.slow
def test_they_come_back_byte_for_byte(charged, check_it_comes_back):
    check_it_comes_back(charged)


CHARGES = "ref,date,client,name,unit_price,visit\nc1,2026-10-14,ann,No-show,25,v1\n"
INVOICES = "number,client,issued,due,net,tax,total\nA9,ann,2026-10-14,2026-10-28,{0},0,{0}\n"
LINES = "invoice,client,kind,visit,horse,code,quantity,unit_price,share,net\n"
OF_C1 = "A9,ann,charge,v1,,c1,1,25,100,25.00\n"


@pytest.mark.parametrize(
    ("lines", "net", "expected"),
    [
        (OF_C1, "25.00", []),
        (OF_C1 + OF_C1, "50.00", ['invoice_lines.csv:3: code: "c1" is invoiced twice']),
        (
            "A9,ann,charge,v1,,c2,1,25,100,25.00\n",
            "25.00",
            ['invoice_lines.csv:2: code: "c2" is not in charges.csv'],
        ),
        (
            "A9,ann,charge,,,c1,2,25,100,25.00\n",
            "25.00",
            [
                'invoice_lines.csv:2: visit: is not what charge "c1" has',
                'invoice_lines.csv:2: quantity: is not what charge "c1" has',
                "invoice_lines.csv:2: net: 25.00 is not quantity times unit_price, 50.00",
            ],
        ),
        (
            ",ann,charge,v1,,c1,1,25,100,25.00\n",
            "25.00",
            ["invoice_lines.csv:2: invoice: is required for a charge without a horse"],
        ),
        (
            "A9,ann,charge,v1,juniper,c1,1,25,100,25.00\n",
            "25.00",
            ['invoice_lines.csv:2: code: must be "minimum" for a charge with a horse'],
        ),
        (
            OF_C1 + "A9,ann,discount,v1,juniper,c1,1,5,100,5.00\n",
            "30.00",
            [
                "invoice_lines.csv:3: visit: must be blank for a discount",
                "invoice_lines.csv:3: horse: must be blank for a discount",
                "invoice_lines.csv:3: code: must be blank for a discount",
                "invoice_lines.csv:3: net: must be at most 0 for a discount",
            ],
        ),
        (
            "A9,ann,travel,,,,1,-5,100,-5.00\n",
            "-5.00",
            [
                'invoice_lines.csv:2: visit: is required for the kind "travel"',
                'invoice_lines.csv:2: horse: is required for the kind "travel"',
                "invoice_lines.csv:2: unit_price: must be at least 0 here",
            ],
        ),
    ],
)
def test_lines_of_charges_and_discounts_are_checked(lines, net, expected, tmp_path):
    folder = put(
        tmp_path / "book",
        charges_csv=CHARGES,
        invoices_csv=INVOICES.format(net),
        invoice_lines_csv=LINES + lines,
    )

    assert complaints(folder) == expected


def test_an_invoiced_charge_locks_no_visit_and_another_import_cannot_invoice_it_again(tmp_path):
    import_book(
        put(
            tmp_path / "book",
            charges_csv=CHARGES,
            invoices_csv=INVOICES.format("25.00"),
            invoice_lines_csv=LINES + OF_C1,
        )
    )
    assert InvoiceLine.objects.get().charge.ref == "c1"
    assert not Visit.objects.filter(locked=True)

    again = put(
        tmp_path / "again",
        charges_csv=CHARGES,
        invoices_csv=INVOICES.format("25.00").replace("A9", "A10"),
        invoice_lines_csv=LINES + OF_C1.replace("A9", "A10"),
    )

    assert complaints(again) == ['invoice_lines.csv:2: code: "c1" is invoiced twice']


@pytest.mark.parametrize(
    ("column", "value", "expected"),
    [
        ("clients.csv", ("discount", "101"), 'clients.csv:2: discount: "101" is more than 100'),
        ("clients.csv", ("discount", "-1"), 'clients.csv:2: discount: "-1" is not at least 0'),
    ],
)
def test_a_discount_is_a_percent(column, value, expected, tmp_path):
    folder = put(tmp_path / "book", clients_csv=f"ref,name,{value[0]}\nann,Ann,{value[1]}\n")

    assert expected in complaints(folder)


def test_the_minimum_and_the_discount_come_in(tmp_path):
    folder = put(
        tmp_path / "book",
        practice_csv="name,locale,currency,distance_unit,minimum_call\nGarrow,en-US,USD,mi,80\n",
        clients_csv="ref,name,discount\nann,Ann,5\nben,Ben,\n",
    )

    assert complaints(folder) == []
    import_book(folder)

    assert Profile.current().minimum_call == 80
    assert list(Client.objects.order_by("pk").values_list("discount", flat=True)) == [5, None]
