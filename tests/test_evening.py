"""The farrier's path in a browser, from login to the PDF, at phone and desk size, and without JavaScript."""

import io
import re
import shutil
import subprocess
from datetime import timedelta
from decimal import Decimal

import pytest
from pypdf import PdfReader

from billing.models import Invoice, Price
from practice.models import MaterialUse, Visit, Work
from stock.models import Shelf
from tests.conftest import DESK, PHONE
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    MaterialUseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
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
    """A finger on a page: taps are counted."""

    def __init__(self, page):
        self.page, self.taps = page, 0

    def tap(self, role, name):
        self.taps += 1
        self.page.get_by_role(role, name=name).first.click()
        self.page.wait_for_load_state()
        self.page.wait_for_timeout(150)


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
    thumb.tap("link", "I am here")


def as_last_time(thumb):
    """Fill in a horse as last time and save it; return the taps that took."""
    before = thumb.taps
    thumb.tap("button", re.compile("As last time"))
    thumb.tap("button", re.compile("^Save"))
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
    thumb.tap("link", "Visit")  # Old Tom, never done, would be next
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
