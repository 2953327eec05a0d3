"""Invoices of horses that someone else pays for, special prices, and round trips, from visit to paper."""

from datetime import timedelta
from decimal import Decimal

import pytest

from billing.actions.invoicing import close_days
from billing.models import BillTo, Invoice, Price
from billing.papers.invoice import invoice_paper
from billing.reports.drafts import due_drafts, held_visits
from billing.reports.previews import invoice_previews
from billing.views.closing import held_row
from practice.lib.profile import Profile
from practice.models import Leg
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
    trim,
)

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture(autouse=True)
def practice():
    return ProfileFactory(travel_rule="per_visit", travel_rate=D(10))


def close():
    return close_days(DAY, DAY, DAY)


def billed():
    """What each client was billed: kind, unit price, share and net of each line."""
    return {
        invoice.client.name: [
            (line.kind, line.unit_price, line.share, line.net) for line in invoice.lines.order_by("pk")
        ]
        for invoice in Invoice.objects.select_related("client").order_by("pk")
    }


def shared_moss():
    """A horse of Ann (60) and Ben (40), trimmed and shod at one visit; the trainer pays for the shoes."""
    horse = HorseFactory(name="Moss")
    for name, share in (("Ann", 60), ("Ben", 40)):
        OwnerFactory(horse=horse, client=ClientFactory(name=name), share=D(share))
    visit = VisitFactory(status="done")
    trims, shoes = ServiceFactory(name="Trim"), ServiceFactory(name="Shoes")
    for service, price in ((trims, 50), (shoes, 120)):
        Price.objects.create(service=service, valid_from=DAY, price=price)
        WorkFactory(visit=visit, horse=horse, service=service, price=None)
    trainer = ClientFactory(name="Tess")
    BillTo.objects.create(horse=horse, client=trainer, service=shoes, valid_from=DAY)
    return shoes, trainer


def test_one_who_pays_for_a_service_pays_all_of_it_and_the_owners_share_the_rest():
    shared_moss()

    close()

    assert billed() == {
        "Ann": [("service", 50, 60, 30), ("travel", 10, 60, 6)],
        "Ben": [("service", 50, 40, 20), ("travel", 10, 40, 4)],
        "Tess": [("service", 120, 100, 120)],
    }


def test_the_paper_of_an_owner_tells_the_owners_shares_and_nobody_elses():
    shared_moss()
    close()

    ann, tess = (invoice_paper(Invoice.objects.get(client__name=name)).blocks[0] for name in ("Ann", "Tess"))

    assert ann.shares == ["Your share: 60%", "Ben: 40%"]
    assert (tess.shares, tess.share) == ([], "")


def test_a_price_for_a_client_holds_where_that_client_alone_pays():
    shoes, trainer = shared_moss()
    Price.objects.create(service=shoes, valid_from=DAY, price=100, client=trainer)
    ann = shoes.work.get().horse.owners.first().client
    Price.objects.create(service=shoes, valid_from=DAY, price=1, client=ann)

    close()

    assert billed()["Tess"] == [("service", 100, 100, 100)]


def test_who_pays_instead_of_an_owner_reads_whose_horse_it_is(practice):
    owner, trainer = ClientFactory(name="Ann"), ClientFactory(name="Tess")
    work = trim(owner)
    BillTo.objects.create(horse=work.horse, client=trainer)

    [preview] = invoice_previews(due_drafts(DAY, DAY, practice, DAY), practice)
    close()

    assert [(str(preview.client), block.owners) for block in preview.horses] == [("Tess", "Ann")]
    [block] = invoice_paper(Invoice.objects.get()).blocks
    assert (block.owners, block.shares, block.amount) == ("Owner: Ann", [], "60.00")


def test_a_monthly_invoice_lists_its_visits_by_date_with_what_each_comes_to():
    ann, barn = ClientFactory(name="Ann", billing="monthly"), PlaceFactory(name="Barn")
    later = trim(ann, on=DAY, place=barn)
    trim(ann, on=DAY - timedelta(2), place=PlaceFactory(name="Mead"))
    WorkFactory(visit=later.visit, horse=owned_horse(ann), price=D(40))

    close_days(DAY, DAY.replace(day=31), DAY.replace(day=31))

    blocks = invoice_paper(Invoice.objects.get()).blocks
    heads = [block.visit and (block.visit.words, block.visit.amount) for block in blocks]
    assert heads == [("Mon, Oct 12, Mead", "60.00"), ("Wed, Oct 14, Barn", "100.00"), None]


def test_terms_exemption_and_billing_are_those_of_who_pays():
    _, trainer = shared_moss()
    trainer.payment_terms_days, trainer.billing = 60, "monthly"
    trainer.save()

    close()
    close_days(DAY, DAY.replace(day=31), DAY.replace(day=31))

    invoice = Invoice.objects.get(client=trainer)
    assert (invoice.issued, invoice.due) == (DAY.replace(day=31), DAY.replace(day=31) + timedelta(60))


def test_what_is_invoiced_stays_when_the_price_or_the_payer_changes_later():
    shoes, trainer = shared_moss()
    close()
    before = billed()

    Price.objects.create(service=shoes, valid_from=DAY, price=1, client=trainer)
    BillTo.objects.all().delete()
    close()

    assert billed() == before


def test_a_round_trip_waits_for_the_drive_back_and_shares_it():
    """10 and 20 there, 18 back: 16 and 32 miles at 0.50."""
    Profile.objects.update(travel_rule="round_trip", travel_rate=D("0.50"))
    truck = VehicleFactory()
    for name, distance in (("Ann", 10), ("Ben", 20)):
        visit = trim(ClientFactory(name=name), vehicle=truck).visit
        Leg.objects.create(date=DAY, vehicle=truck, distance=D(distance), purpose="business", visit=visit)

    waiting = held_visits(DAY, DAY, Profile.current(), DAY)
    links = [address for row in waiting for address, _ in held_row(row).links]
    Leg.objects.create(date=DAY, vehicle=truck, distance=D(18), purpose="business")
    close()

    assert [(row.code, row.reason) for row in waiting] == [
        ("no_reach", "The drive back is not logged for October 14.")
    ] * 2
    assert links == [f"/round/{DAY}/legs/{truck.pk}/add/"] * 2
    assert billed() == {
        "Ann": [("service", 50, 100, 50), ("travel", 8, 100, 8)],
        "Ben": [("service", 50, 100, 50), ("travel", 16, 100, 16)],
    }
    [block] = invoice_paper(Invoice.objects.get(client__name="Ann")).blocks
    assert block.lines[-1].detail == "16.0\u00a0mi × 0.50 = 8.00, with a share of the way back"
