"""The farrier's path in a browser, from login to the PDF, at phone and desk size, and without JavaScript."""

import io
import re
import shutil
import subprocess
import time
from datetime import timedelta
from decimal import Decimal

import pytest
from pypdf import PdfReader

from billing.models import Invoice, Price
from practice.models import Client, Leg, MaterialUse, Service, Vehicle, Visit, Work
from stock.models import Item, Shelf
from tests.conftest import DESK, PHONE
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    LegFactory,
    MaterialUseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    ReadingFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory, receipt

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


NAMES = ("Juniper", "Bramble", "Marigold")
D = Decimal


@pytest.fixture
def barn(user, settings):
    """A barn with three horses of one client, shod six weeks ago, and a stocked truck."""
    settings.TODAY = DAY
    ProfileFactory()
    VehicleFactory(name="Truck")
    client = ClientFactory(name="Petra Quill", address="9 Orchard Row\nPell Crossing")
    barn = PlaceFactory(name="Larkspur Barn")
    fronts = ServiceFactory(name="Fronts", new_shoes=2, feet_nailed=2, fitted="hot")
    reset = ServiceFactory(name="Reset", new_shoes=0, feet_nailed=4)
    for service, price in ((fronts, 175), (reset, 140)):
        Price.objects.create(service=service, valid_from=DAY - timedelta(400), price=price)
    shoe = ItemFactory(name="Plain front, No 2", pattern="plain", size="2", fits="front")
    nail = ItemFactory(name="Nails, slim No 5", kind="nail", pattern="slim", size="5", pack_size=D(250))
    for item in (shoe, nail):
        receipt(item, "250", on=DAY - timedelta(100))
    past = VisitFactory(place=barn, status="done", billed=True, date=DAY - timedelta(weeks=6))
    for name in NAMES:
        horse = HorseFactory(name=name, place=barn)
        OwnerFactory(horse=horse, client=client)
        WorkFactory(visit=past, horse=horse, service=fronts, price=D(999), note="never copied")
        for foot in ("LF", "RF"):
            MaterialUseFactory(visit=past, horse=horse, item=shoe, foot=foot)
            MaterialUseFactory(visit=past, horse=horse, item=nail, foot=foot, quantity=D(6))
    HorseFactory(name="Old Tom", place=barn)
    return barn


class Thumb:
    """A finger on a page: taps are counted, at most one in each `pace` seconds."""

    def __init__(self, page, pace: float = 0):
        self.page, self.taps, self.pace, self.next_tap = page, 0, pace, 0.0

    def tap(self, role, name):
        """Tap what has this role and name, at the thumb where it stands there."""
        at_the_thumb = self.page.locator(".thumb").get_by_role(role, name=name)
        self._tap(at_the_thumb if at_the_thumb.count() else self.page.get_by_role(role, name=name))

    def type(self, label, text):
        """Tap a field and type; what is typed there is no tap."""
        field = self.page.get_by_label(label)
        self._tap(field)
        field.fill(text)

    def _tap(self, target):
        self.page.wait_for_timeout(max(self.next_tap - time.monotonic(), 0) * 1000)
        self.taps, self.next_tap = self.taps + 1, time.monotonic() + self.pace
        target.first.click()


def log_in(page):
    page.goto("/login/")
    page.get_by_label("Name").fill("farrier")
    page.get_by_label("Password").fill("six nails a shoe")
    page.get_by_role("button", name="Log in").click()
    page.wait_for_url("**/")


def plan_and_arrive(thumb):
    thumb.tap("link", "Plan a stop")
    thumb.tap("link", re.compile("Larkspur Barn"))
    thumb.tap("button", "Plan this stop")
    thumb.tap("button", "I am here")


def as_last_time(thumb):
    """Save a horse as last time, the first one after a look at what that is; return the taps that took."""
    before = thumb.taps
    if before < 6:
        thumb.tap("button", re.compile("^As last time .*:"))
        thumb.tap("button", re.compile("^Save"))
    else:
        thumb.tap("button", "As last time, save")
    return thumb.taps - before


def close_the_day(thumb):
    thumb.tap("link", "Close the day")
    thumb.tap("button", "Issue 1 invoice")


def read_back(page, tmp_path):
    """Fetch the invoice's PDF as the page links it; return its text, and see that it renders."""
    link = page.get_by_role("link", name="Open the PDF").get_attribute("href")
    content = page.request.get(link).body()
    (tmp_path / "invoice.pdf").write_bytes(content)
    subprocess.run(
        [shutil.which("pdftoppm"), "-r", "60", "-png", "invoice.pdf", "page"], cwd=tmp_path, check=True
    )
    assert list(tmp_path.glob("page-*.png"))
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)


@pytest.mark.path
@pytest.mark.parametrize(
    ("size", "script"),
    [(PHONE, True), (DESK, True), (PHONE, False)],
    ids=["phone", "desk", "phone without JavaScript"],
)
def test_the_whole_evening_from_login_to_the_pdf(barn, open_page, size, script, tmp_path, capsys):
    page = open_page(*size, java_script_enabled=script)
    thumb = Thumb(page)
    log_in(page)
    plan_and_arrive(thumb)
    thumb.tap("link", "Start with Juniper")

    taps = [as_last_time(thumb) for _ in NAMES]
    thumb.tap("button", "The stop is done")
    close_the_day(thumb)
    thumb.tap("link", re.compile("Petra Quill"))
    text = read_back(page, tmp_path)

    with capsys.disabled():
        print(f"\ntaps a horse: {taps}; the whole evening: {thumb.taps}")
    assert max(taps) <= 3
    invoice = Invoice.objects.get()
    assert (invoice.number, invoice.total) == ("GF-2026-0001", 525)
    assert "Invoice GF-2026-0001" in text and "$525.00" in text
    visit = Visit.objects.get(date=DAY)
    assert visit.locked
    assert set(Work.objects.filter(visit=visit).values_list("service__name", "price", "note")) == {
        ("Fronts", None, "")
    }
    uses = MaterialUse.objects.filter(visit=visit, movement__isnull=False)
    assert sorted(uses.values_list("item__kind", "foot", "quantity")) == sorted(
        [("shoe", "LF", 1), ("shoe", "RF", 1), ("nail", "LF", 6), ("nail", "RF", 6)] * 3
    )
    assert list(Shelf.objects.order_by("item").values_list("on_hand", flat=True)) == [244, 214]
    assert page.problems == []


@pytest.fixture
def six_barns(barn):
    """A round of six barns with five due horses each, driven before, the odometer read last evening."""
    barn.horses.update(status="away")
    truck = Vehicle.objects.get()
    client, fronts, shoe = (
        Client.objects.get(),
        Service.objects.get(name="Fronts"),
        Item.objects.get(size="2"),
    )
    ReadingFactory(vehicle=truck, date=DAY - timedelta(1), at="end", reading=D("84198.0"))
    before, here = DAY - timedelta(weeks=6), "Home"
    for number in range(6):
        place = PlaceFactory(name=f"Barn {number}")
        past = VisitFactory(place=place, status="done", billed=True, date=before, vehicle=truck)
        LegFactory(vehicle=truck, date=before, visit=past, origin=here, destination=place.name, distance=D(9))
        here = place.name
        for letter in "ABCDE":
            horse = HorseFactory(name=f"{letter}{number}", place=place)
            OwnerFactory(horse=horse, client=client)
            WorkFactory(visit=past, horse=horse, service=fronts)
            MaterialUseFactory(visit=past, horse=horse, item=shoe, foot="LF")
            MaterialUseFactory(visit=past, horse=horse, item=shoe, foot="RF")
        VisitFactory(place=place, vehicle=truck, position=number)
    LegFactory(vehicle=truck, date=before, origin=here, destination="Home", distance=D(9), reason="way home")
    return truck


def do_each_horse(thumb):
    """Open the first horse, and save it and those after it as last time."""
    thumb.tap("link", re.compile("^Start with"))
    for _ in range(5):
        thumb.tap("button", "As last time, save")


def do_the_rest(thumb):
    thumb.tap("button", "The rest as last time")


@pytest.mark.parametrize("do_the_horses", [do_each_horse, do_the_rest], ids=["horse by horse", "all at once"])
def test_thirty_horses_at_six_barns_take_at_most_sixty_taps(
    six_barns, open_page, user, do_the_horses, capsys
):
    """From the first stop to issued invoices with the drives taken; horse by horse at one tap a second."""
    page = open_page(*PHONE, user=user)
    page.goto("/round/")
    thumb, begun = Thumb(page, pace=do_the_horses is do_each_horse), time.monotonic()

    for _ in range(6):
        thumb.tap("button", "I am here")
        do_the_horses(thumb)
        thumb.tap("button", "The stop is done")
    thumb.tap("link", "Evening odometer")
    thumb.type("Evening", "84261.0")
    thumb.tap("button", "Save the odometer")
    thumb.tap("button", "Add all 7 drives")
    thumb.tap("link", "Close the day")
    thumb.tap("button", "Issue 1 invoice")
    taken = time.monotonic() - begun

    with capsys.disabled():
        print(f"\n30 horses, 6 barns, {do_the_horses.__name__}: {thumb.taps} taps, {taken:.0f} s")
    assert thumb.taps <= 60
    assert Work.objects.filter(visit__date=DAY).count() == 30
    assert Visit.objects.filter(date=DAY, locked=True).count() == 6
    assert Invoice.objects.get().total == 30 * 175
    assert sum(Leg.objects.filter(date=DAY).values_list("distance", flat=True)) == 63
    readings = six_barns.readings.filter(date=DAY).order_by("reading")
    assert list(readings.values_list("at", "reading")) == [("start", D(84198)), ("end", D(84261))]
    assert page.problems == []


@pytest.mark.parametrize("script", [True, False], ids=["with JavaScript", "without"])
def test_a_reset_and_a_pair_of_fronts_take_few_taps(barn, open_page, user, script, capsys):
    visit = VisitFactory(place=barn)
    page = open_page(*PHONE, user=user, java_script_enabled=script)
    counts = {}
    for horse, service in (("Juniper", "Reset"), ("Old Tom", "Fronts")):
        page.goto(f"/visits/{visit.pk}/")
        thumb = Thumb(page)
        thumb.tap("link", re.compile(f"^{horse}"))
        thumb.tap("button", re.compile(f"^{service}"))
        thumb.tap("button", re.compile("^Save"))
        counts[service] = thumb.taps

    with capsys.disabled():
        print(f"\ntaps: {counts}")
    assert max(counts.values()) < 10
    rows = Work.objects.filter(visit=visit).values_list("horse__name", "service__name").order_by("pk")
    assert list(rows) == [("Juniper", "Reset"), ("Old Tom", "Fronts")]
    feet = MaterialUse.objects.filter(visit=visit).values_list("horse__name", "item__kind", "foot")
    assert sorted(feet) == sorted(
        [("Juniper", "nail", foot) for foot in ("LF", "RF", "LH", "RH")]
        + [("Old Tom", kind, foot) for kind in ("shoe", "nail") for foot in ("LF", "RF")]
    )
    assert page.problems == []
