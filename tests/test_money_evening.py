"""What a farrier does about money in a browser: send, collect, credit, correct, bill again, a statement."""

import re
import subprocess
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.management import call_command

from billing.models import Charge, Invoice, Payment, Price, TaxRate
from practice.models import Visit
from tests.factories.mail import MailSettingsFactory
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
)
from tests.mail_server import mail_server
from tests.test_evening import Thumb

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
D = Decimal


@pytest.fixture
def stop(settings) -> Visit:
    """A stop that is done, of a client with an email address, a discount and a charge.

    Another client has no address.
    Two pairs of fronts at 175.00 are taxed with 5%, a trim is not.
    """
    settings.TODAY = DAY
    ProfileFactory(pay_note="By check to Garrow Farriery, 4 Tongs Row")
    TaxRate.objects.create(name="State sales tax", valid_from=DAY - timedelta(400), rate=5)
    trim, fronts = ServiceFactory(name="Trim"), ServiceFactory(name="Fronts", new_shoes=2, taxable=True)
    for service, price in ((trim, 50), (fronts, 175)):
        Price.objects.create(service=service, valid_from=DAY - timedelta(400), price=price)
    petra = ClientFactory(name="Petra Quill", email="petra@quill.example", discount=D(10))
    shod(ClientFactory(name="Ansel Wray", phone="555-0116"), "Plum Hollow", {"Marigold": trim})
    Charge.objects.create(client=petra, date=DAY, name="After hours", unit_price=D(40), kind="after_hours")
    return shod(petra, "Larkspur Barn", {"Juniper": fronts, "Bramble": fronts})


def shod(client, place: str, work: dict) -> Visit:
    visit = VisitFactory(place=PlaceFactory(name=place), status="done")
    for name, service in work.items():
        horse = HorseFactory(name=name, place=visit.place)
        OwnerFactory(horse=horse, client=client)
        WorkFactory(visit=visit, horse=horse, service=service, price=None)
    return visit


def close_and_send(thumb) -> None:
    """Issue what is to be issued, and send all of it with one button."""
    thumb.page.goto(f"/close/{DAY.isoformat()}/")
    thumb.tap("button", re.compile("^Issue "))
    thumb.tap("button", "Send the invoice")
    call_command("send")


def credit(thumb, invoice, reason: str, **amounts: str) -> None:
    """Credit all of an invoice, or an amount of a line; look it over, and issue it."""
    page = thumb.page
    page.goto(invoice.get_absolute_url())
    thumb.tap("link", "Credit this invoice")
    if amounts:
        page.get_by_label("What to credit").select_option("some")
    for label, amount in amounts.items():
        page.get_by_label(label.replace("_", " ")).fill(amount)
    page.get_by_label("Reason").select_option(reason)
    thumb.tap("button", "Preview")
    thumb.tap("button", re.compile("^Issue the credit note"))


def paper(page, tmp_path) -> str:
    """Fetch the PDF that a page links; return its text, with one blank between words."""
    url = page.get_by_role("link", name="Open the PDF").get_attribute("href")
    (tmp_path / "paper.pdf").write_bytes(page.request.get(url).body())
    said = subprocess.run(
        ["pdftotext", "-layout", "paper.pdf", "-"], cwd=tmp_path, capture_output=True, check=True
    )
    return " ".join(said.stdout.decode().split())


def standing() -> list[tuple]:
    rows = Invoice.objects.with_settled().order_by("pk")
    return [(row.number, row.total, row.settled, row.credited) for row in rows]


@pytest.mark.path
def test_an_evening_of_money(stop, own_page, tmp_path):
    """350.00 less 10% is 315.00, 5% of it 15.75; with 40.00 after hours 370.75. A trim less makes 210.38."""
    page, thumb = own_page, Thumb(own_page)
    with mail_server() as server:
        MailSettingsFactory(port=server.port)
        close_and_send(thumb)
        thumb.tap("link", re.compile("^Petra Quill"))
        thumb.tap("link", "Record payment")
        page.get_by_label("Amount", exact=True).fill("100")
        page.get_by_label("Check number").fill("1182")
        thumb.tap("button", "Record payment")
        first = Invoice.objects.get(client__name="Petra Quill")
        credit(thumb, first, "goodwill", After_hours="15")
        goodwill = paper(page, tmp_path)
        assert standing() == [("GF-2026-0001", D("370.75"), 100, 15), ("GF-2026-0002", 50, 0, 0)]

        credit(thumb, first, "correction")
        page.goto(stop.get_absolute_url())
        thumb.tap("link", re.compile("^Bramble"))
        thumb.tap("button", re.compile("^Fronts"))
        thumb.tap("button", re.compile("^Trim"))
        thumb.tap("button", re.compile("^Save"))
        thumb.tap("button", "Bill it again")
        close_and_send(thumb)
        thumb.tap("link", re.compile("^Petra Quill.*GF-2026-0003"))
        again = paper(page, tmp_path)
        thumb.tap("link", "Petra Quill")
        page.goto(f"/clients/{first.client_id}/statement/")
        statement = paper(page, tmp_path)

    assert standing() == [
        ("GF-2026-0001", D("370.75"), 0, D("370.75")),
        ("GF-2026-0002", 50, 0, 0),
        ("GF-2026-0003", D("210.38"), 100, 0),
    ]
    assert Payment.objects.values_list("method", "check_number").get() == ("check", "1182")
    assert [(letter["To"], letter["Subject"].split()[1]) for letter in server.letters] == [
        ("Petra Quill <petra@quill.example>", number) for number in ("GF-2026-0001", "GF-2026-0003")
    ]
    assert "Taken off invoice GF-2026-0001 $15.00" in goodwill
    assert "Amount due by October 28 $110.38" in again
    assert "Balance due $110.38" in statement
    assert all(f"GF-CN-2026-000{number}" in statement for number in (1, 2))
    assert page.problems == []
