"""A book with something on every page, and the addresses of all pages, for tests that walk through them."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta
from decimal import Decimal
from uuid import uuid4

from django.urls import URLResolver, get_resolver
from django.utils import timezone

from billing.actions.crediting import issue_credit_note
from billing.actions.depositing import make_deposit
from billing.actions.horse_changes import Recording
from billing.actions.invoicing import close_days
from billing.actions.life_events import record_elsewhere
from billing.actions.merging import merge
from billing.actions.payments import record_payment
from billing.actions.sharing import share_invoice
from billing.models import (
    BankDeposit,
    BillTo,
    Dispute,
    Equipment,
    EstimatedPayment,
    Expense,
    Invoice,
    Message,
    MileageRate,
    Payment,
    Price,
    RepeatingExpense,
    TaxRate,
)
from billing.reports.shared import token_of
from practice.actions.photos import keep_photos, photo_name
from practice.lib.kept_files import keep_file
from practice.models import Horse, Leg, LifeEvent, PhoneEntry, Service
from practice.project.backup.copies import make_backup
from practice.project.backup.kept import DAILY, backups_folder, copies_in, new_copy
from practice.project.phone.taking import kept_file
from practice.reports.signs import first_signs
from stock.models import Item, OrderLine
from tests.factories.billing import (
    ChargeFactory,
    EquipmentFactory,
    EstimatedPaymentFactory,
    ExpenseFactory,
    InvoiceFactory,
    MileageRateFactory,
    RepeatingExpenseFactory,
)
from tests.factories.mail import NOON, MessageFactory
from tests.factories.practice import (
    DAY,
    ClientFactory,
    FindingFactory,
    FootRecordFactory,
    MaterialUseFactory,
    PhotoFactory,
    PlaceFactory,
    PrescriptionFactory,
    ProfileFactory,
    ReadingFactory,
    VehicleFactory,
    VisitFactory,
    trim,
)
from tests.factories.stock import ItemFactory, LocationFactory, OrderLineFactory, SupplierFactory, receipt
from tests.pictures import photo as picture
from tests.project.bring_in.sheets_to_bring import kept_folder, kept_upload

D = Decimal
MORE = {  # pages that differ much with their query, their day or what was uploaded
    "root": [
        "/begin/?at=clients",
        "/find/?q=barn",
        "/find/?q=zorn",
        "/bring-in/files/{ready}/check/",
        "/bring-in/book/{broken}/",
    ],
    "practice": ["/round/2026-08-26/", "/round/2027-08-10/"],
    "stock": ["/orders/add/?supplier="],
    "billing": ["/places/{places}/merge/?other={double}"],
}
FILES = (
    "-pdf",
    "-csv",
    "-paper",
    "-pack",
    "-receipt",
    "-photo",
)  # how the names of addresses end that give a file


def one_of_each(truck):
    """Add one of each thing that a list shows: horse, owner, place, service, item, invoice, payment …"""
    client = ClientFactory()
    work = trim(client, on=DAY - timedelta(weeks=7), vehicle=truck)
    work.service.resets_cycle = True
    shoe = ItemFactory(pattern="plain", size="2")
    receipt(shoe, "5", on=DAY - timedelta(weeks=8))
    MaterialUseFactory(visit=work.visit, horse=work.horse, item=shoe)
    Price.objects.create(service=work.service, valid_from=DAY, price=50)
    Leg.objects.create(
        date=DAY, vehicle=truck, distance=D(5), purpose="business", visit=VisitFactory(vehicle=truck)
    )
    close_days(work.visit.date, work.visit.date, DAY)
    record_payment(client, DAY, D(20), "check")
    make_deposit(DAY, [record_payment(client, DAY, D(3), "cash"), record_payment(client, DAY, D(4), "check")])
    TaxRate.objects.create(name="State", valid_from=DAY - timedelta(Invoice.objects.count()), rate=5)
    OrderLineFactory(item=shoe, order__supplier=SupplierFactory())
    ExpenseFactory(vehicle=truck, receipt="0" * 32 + ".jpg")
    RepeatingExpenseFactory(vehicle=truck)
    EquipmentFactory()
    EstimatedPaymentFactory()
    overdue = InvoiceFactory(client=client, due=DAY - timedelta(weeks=7), issued=DAY - timedelta(weeks=9))
    Dispute.objects.create(
        invoice=InvoiceFactory(due=overdue.due), opened_on=DAY, note="Two shoes, not four."
    )
    doubtful = MessageFactory(about=overdue.number, state=Message.State.DOUBTFUL)
    doubtful.attempts.create(at=doubtful.queued_at, what="doubtful", note="The connection ended.")
    MileageRateFactory(scheme="us_standard", tier_from=MileageRate.objects.count())


def book_of_all_pages() -> dict[str, object]:
    """Make a book for a walk on DAY; return an example of each part of an address.

    The key of a primary key is the word before it (`clients/<int:pk>/`), else the part's name (`<str:day>`).
    """
    practice = ProfileFactory()
    truck = VehicleFactory(name="Blue truck")
    one_of_each(truck)
    practice.travel_rule, practice.travel_rate = "per_distance", D("0.85")
    practice.late_fee = D(10)
    practice.save()
    horse, item, invoice = Horse.objects.first(), Item.objects.first(), Invoice.objects.first()
    horse.place.name = "A barn with a name as long as its lane"
    horse.place.notes = "The key hangs in the tack room."
    horse.place.phone, horse.place.gate_code, horse.place.address = "555-0170", "4711#", "1 Fen Lane"
    horse.place.save()
    Service.objects.filter(work__horse=horse).update(name="A trim")
    horse.cautions = "Kicks with the right hind."
    horse.save()
    seen = FindingFactory(visit=horse.work.first().visit, horse=horse, refer_to_vet=True)
    photo = PhotoFactory(horse=horse, finding=seen, note="Toe first", file=photo_name(picture()))
    keep_photos([picture()])
    PrescriptionFactory.create_batch(2, horse=horse, shoe="bar shoe", by="Dr. Quill")
    FootRecordFactory(visit=seen.visit, horse=horse, nails_outside=3, nails_inside=3, angle=D(52))
    trim(on=DAY, vehicle=truck)
    trim(on=DAY - timedelta(weeks=20), billed=True)  # overdue by more than its cycle
    taxed = trim(invoice.client, on=DAY - timedelta(1), vehicle=truck)
    taxed.service.taxable = True
    taxed.service.save()
    close_days(taxed.visit.date, taxed.visit.date, DAY)
    invoice.client.phone = "555-0116"
    invoice.client.save()
    visit = VisitFactory(vehicle=truck, place=horse.place, date=DAY)
    line, truck_stock = OrderLine.objects.first(), LocationFactory(name="The truck")
    link = share_invoice(invoice, DAY, NOON, with_history=True)
    for at, reading in (("start", "84198"), ("end", "84218")):
        ReadingFactory(vehicle=truck, at=at, reading=D(reading))
    special = Price.objects.create(service=horse.work.first().service, valid_from=DAY, price=45, horse=horse)
    payer = BillTo.objects.create(horse=horse, client=ClientFactory(name="Tess"), valid_from=DAY)
    barns = [PlaceFactory(name=f"The long barn {number}") for number in range(3)]
    record_elsewhere(horse, DAY - timedelta(48), "On the road", Recording("farrier", NOON, DAY))
    settling = entry_to_settle(invoice.client.name)
    merged = merge(*barns[:2], by="farrier", at=datetime.combine(DAY, time(12), UTC), today=DAY)
    return {
        "special-prices": special.pk,
        "bill-to": payer.pk,
        "clients": invoice.client.pk,
        "places": horse.place.pk,
        "double": barns[2].pk,
        "photos": photo.pk,
        "prescriptions": horse.prescriptions.first().pk,
        "merges": merged.pk,
        "life-events": LifeEvent.objects.get().pk,
        "horses": horse.pk,
        "findings": seen.pk,
        "sign": first_signs()[0].uuid,
        "services": horse.work.first().service.pk,
        "vehicles": truck.pk,
        "odometers": 1,
        "items": item.pk,
        "legs": Leg.objects.first().pk,
        "visits": visit.pk,
        "orders": line.order.pk,
        "order-lines": line.pk,
        "receipts": 1,
        "facts": item.movements.first().pk,
        "suppliers": line.order.supplier.pk,
        "cost-of-the-shelf": 1,
        "places-of-stock": truck_stock.pk,
        "estimated-payments": EstimatedPayment.objects.first().pk,
        "invoices": invoice.pk,
        "credit-notes": issue_credit_note(invoice, DAY, {1: D(5)}, reason="goodwill").pk,
        "deposits": BankDeposit.objects.first().pk,
        "charges": ChargeFactory(client=invoice.client, visit=visit, date=DAY).pk,
        "links": link.pk,
        "token": token_of(link),
        "payments": Payment.objects.first().pk,
        "expenses": Expense.objects.first().pk,
        "repeating-expenses": RepeatingExpense.objects.first().pk,
        "equipment": Equipment.objects.first().pk,
        "messages": Message.objects.first().pk,
        "disputes": Dispute.objects.first().pk,
        "kind": "reminder-1",
        "tax-rates": TaxRate.objects.first().pk,
        "mileage-rates": MileageRate.objects.last().pk,
        "day": DAY.isoformat(),
        "month": f"{DAY:%Y-%m}",
        "year": DAY.year,
        "vehicle": truck.pk,
        "client": invoice.client.pk,
        "horse": horse.pk,
        "key": truck_stock.pk,
        "backup": backup_to_look_at(),
        "end": "84218",
        "what": "horses",
        "settle": settling.pk,
        "number": 1,
        "upload": kept_upload("Bramble", "soon").key,
        "ready": kept_upload("Juniper", "").key,
        "folder": kept_folder("Ann Lee"),
        "broken": kept_folder("x" * 201),
        "first": (DAY - timedelta(weeks=7)).isoformat(),
        "last": DAY.isoformat(),
    }


def entry_to_settle(name: str) -> PhoneEntry:
    """Add what a phone recorded of a second client of this name, with a photo, and something discarded."""
    entry = PhoneEntry(
        uuid=uuid4(),
        login="farrier",
        at=NOON,
        received_at=NOON,
        path="/clients/add/",
        title="New client",
        fields=[["name", name], ["billing", "per_day"]],
        state=PhoneEntry.State.TO_SETTLE,
        code="asks",
        message="Is this a second one?",
    )
    entry.files = [["photo", f"{entry.uuid.hex}.0", "barn.jpg"]]
    keep_file(kept_file(f"{entry.uuid.hex}.0"), picture())
    entry.save()
    PhoneEntry.objects.create(
        uuid=uuid4(),
        login="farrier",
        at=NOON,
        received_at=NOON,
        path="/places/add/",
        title="New place",
        state=PhoneEntry.State.DISCARDED,
        settled_at=timezone.now(),
    )
    return entry


def backup_to_look_at() -> str:
    """Return the name of a backup in the data folder, which is not undone with the book."""
    if not copies_in(backups_folder()):
        make_backup(new_copy(DAILY, NOON))
    return copies_in(backups_folder())[0].name


def routes(patterns=None, before: str = "", part: str = "root") -> Iterator[tuple[str, str, str]]:
    """Give part, route and name of every address of the program; what is in no namespace is in `root`.

    A row that a phone made has no page there: its address leads to others.
    """
    for pattern in patterns or get_resolver().url_patterns:
        if getattr(pattern, "name", None) == "phone-made":
            continue
        route = before + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from routes(pattern.url_patterns, route, pattern.namespace or part)
        else:
            yield part, route, pattern.name


def address(route: str, examples: dict[str, object]) -> str:
    """Return an address of the route. Raises KeyError for a part of it that has no example."""

    def example(part: re.Match) -> str:
        name = part["name"]
        return part["word"] + str(examples[part["word"].strip("/") if name == "pk" else name])

    return "/" + re.sub(r"(?P<word>[\w-]*/)<(?:\w+:)?(?P<name>\w+)>", example, route)


def pages(browser, examples: dict[str, object], part: str) -> list[str]:
    """Return the addresses of all pages of a part: what a GET answers with HTML of its own."""
    found = []
    for its_part, route, name in routes():
        if its_part != part or name.endswith(FILES):
            continue
        path = address(route, examples)
        answer = browser.get(path)
        if answer.status_code in (302, 405):
            continue
        assert answer.status_code == 200, f"{path} answers {answer.status_code}"
        if answer.headers["Content-Type"].startswith("text/html"):
            found.append(path)
    return found + [path.format(**examples) for path in MORE.get(part, [])]
