"""The form of a horse in a browser, at phone and desk size, and without JavaScript."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest

from billing.models import Price
from practice.models import Finding, MaterialUse, Service, Visit, Work
from tests.conftest import DESK, PHONE
from tests.factories.practice import (
    DAY,
    FindingFactory,
    HorseFactory,
    OwnerFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
D = Decimal
TAP = """name => {
    const works = [...document.querySelectorAll("[name=pick]")];
    works.find((each) => each.innerText.startsWith(name)).click();
}"""


@pytest.fixture
def juniper(transactional_db, settings):
    """A horse at a visit, with services, shoes, nails, pads and sealant to choose from."""
    settings.TODAY = DAY
    ProfileFactory()
    services = (
        ServiceFactory(name="Trim"),
        ServiceFactory(name="Fronts", new_shoes=2, feet_nailed=2, fitted="hot"),
        ServiceFactory(name="Lost shoe", new_shoes=1, feet_nailed=1, resets_cycle=False),
    )
    for service, price in zip(services, (55, 175, 45), strict=True):
        Price.objects.create(service=service, valid_from=DAY - timedelta(99), price=price)
    for size in "23":
        ItemFactory(name=f"Plain front, No {size}", pattern="plain", size=size, fits="front", sale_price=D(9))
    ItemFactory(name="Nails, slim No 5", kind="nail")
    ItemFactory(name="Pad", kind="pad", sale_price=D(14))
    ItemFactory(name="Sealant", kind="sealant", unit="ml")
    visit = VisitFactory(date=DAY)
    horse = HorseFactory(name="Juniper", place=visit.place, cautions="Kicks, left hind.")
    OwnerFactory(horse=horse)
    return horse


class Sheet:
    """The form of the horse on a page."""

    def __init__(self, page, horse):
        self.page = page
        page.goto(Visit.objects.latest("date").horse_url(horse))

    def tap(self, name, role="button"):
        self.page.locator("#horse").get_by_role(role, name=re.compile(name)).first.click()

    def type(self, label, value):
        field = self.page.get_by_label(label, exact=True)
        field.fill(value)
        field.blur()

    def says(self, text, within="#sum"):
        """Wait until a part of the page says this, in its words and no others."""
        wanted = re.compile(r"^\s*" + r"\s+".join(re.escape(word) for word in text.split()) + r"\s*$")
        self.page.wait_for_function(
            "([within, wanted]) => new RegExp(wanted).test(document.querySelector(within)?.innerText ?? '')",
            arg=[within, wanted.pattern],
        )

    @property
    def off_the_truck(self) -> list[str]:
        rows = self.page.locator(".steppers:not(#unused) > li:visible").all()
        return [" ".join(row.locator("b").inner_text().split()) for row in rows]

    @property
    def nails(self) -> str:
        return self.page.get_by_label("Nails", exact=True).input_value()


def test_sums_follow_a_foot_left_without_a_shoe_and_typed_pads(own_page, juniper):
    sheet = Sheet(own_page, juniper)

    sheet.tap("^Fronts")
    sheet.says("Fronts $193.00")
    before = (sheet.off_the_truck, sheet.nails)
    sheet.tap("Right fore")
    sheet.tap("No shoe on this foot")
    sheet.says("Fronts $184.00")
    after = (sheet.off_the_truck, sheet.nails)
    own_page.get_by_text("Pads, packing, sealant, other").click()
    sheet.type("Pad", "2")
    sheet.says("Fronts $212.00")
    sheet.type("Sealant", "20")
    sheet.says(
        "Sealant, adhesive. Read the safety data sheet. Gloves on, eyes protected.", "[data-when^=sealant]"
    )

    shoes = [f"{foot}: Plain front, No 2" for foot in ("LF", "RF")]
    assert before == ([*shoes, "Nails, slim No 5"], "12")
    assert after == ([shoes[0], "Nails, slim No 5"], "6")
    assert (own_page.get_by_role("heading", level=1).inner_text(), own_page.problems) == ("Juniper", [])


def test_two_works_one_size_a_foot_and_quick_taps_are_all_saved(own_page, juniper):
    sheet = Sheet(own_page, juniper)

    for name in ("Trim", "Lost shoe", "Lost shoe", "Fronts", "Lost shoe"):
        own_page.evaluate(TAP, name)
    sheet.says("Fronts, Lost shoe $238.00")
    for _ in range(3):
        sheet.tap("One more: Nails")
    sheet.tap("Left fore")
    sheet.tap("Plain front, No 3")
    own_page.locator(".foot-sizes").wait_for(state="hidden")
    count = sheet.nails
    sheet.tap("^Save")
    own_page.get_by_text("Saved.").first.wait_for()

    shoes = MaterialUse.objects.filter(item__kind="shoe").order_by("foot").values_list("foot", "item__size")
    nails = MaterialUse.objects.filter(item__kind="nail").values_list("quantity", flat=True)
    assert list(Work.objects.order_by("pk").values_list("service__name", flat=True)) == [
        "Fronts",
        "Lost shoe",
    ]
    assert (count, list(shoes), sum(nails)) == ("15", [("LF", "3"), ("RF", "2")], 15)
    assert own_page.problems == []


def test_what_was_seen_is_marked_and_a_wrong_horse_comes_off(own_page, juniper):
    FindingFactory(
        visit=VisitFactory(date=DAY - timedelta(42)), horse=juniper, kind="heat", refer_to_vet=True
    )
    sheet = Sheet(own_page, juniper)

    sheet.tap("^Trim")
    sheet.says("Trim $55.00")
    own_page.get_by_label("Seen to: Heat").check()
    sheet.says("Trim $55.00")
    sheet.tap("^Save")
    own_page.get_by_text("Saved.").first.wait_for()
    sheet = Sheet(own_page, juniper)
    sheet.says("Heat: left fore, sole. Seen to October 14.", ".earlier > span")
    sheet.tap("Take this horse off the visit", role="link")
    own_page.get_by_role("button", name="Take Juniper off the visit").click()
    own_page.get_by_text("Juniper is off the visit.").wait_for()

    assert (Work.objects.count(), Finding.objects.get().resolved_on, own_page.problems) == (0, DAY, [])


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_all_of_it_works_without_javascript(open_page, user, juniper, size):
    page = open_page(*size, user=user, java_script_enabled=False)
    page.goto(Visit.objects.latest("date").horse_url(juniper))
    form = page.locator("#horse")

    for name in ("^Trim", "^Lost shoe"):
        form.get_by_role("button", name=re.compile(name)).click()
    form.locator("#foot-RF").click()
    form.get_by_text("Pads, packing, sealant, other").click()
    form.get_by_label("Pad", exact=True).fill("1")
    form.get_by_role("button", name="One more: Nails").click()
    said = " ".join(page.locator("#sum").inner_text().split())
    form.locator("#foot-RF").click()
    form.get_by_role("button", name=re.compile("Plain front, No 3")).first.click()
    form.get_by_role("button", name=re.compile("^Save")).last.click()

    uses = MaterialUse.objects.order_by("pk").values_list("item__name", "foot", "quantity")
    assert said == "Trim, Lost shoe $123.00"
    assert list(uses) == [("Plain front, No 3", "RF", 1), ("Nails, slim No 5", "RF", 7), ("Pad", "", 1)]

    page.goto(f"{Visit.objects.latest('date').horse_url(juniper)}remove/")
    page.get_by_role("button", name="Take Juniper off the visit").click()
    assert (Work.objects.count(), MaterialUse.objects.count()) == (0, 0)


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_main_action_stands_within_the_form(open_page, user, juniper, size):
    page = open_page(*size, user=user)
    sheet = Sheet(page, juniper)

    box, form = page.locator(".act[name=save]").bounding_box(), page.locator("#horse").bounding_box()

    assert box["x"] >= form["x"] + 16 and box["x"] + box["width"] <= form["x"] + form["width"] - 16
    assert size == PHONE or box["x"] > form["x"] + form["width"] / 2
    assert sheet.page.problems == []


def test_work_saved_in_another_window_is_shown_and_kept_until_mine_is_saved(own_page, juniper):
    sheet, trim = Sheet(own_page, juniper), Service.objects.get(name="Trim")
    asked = own_page.locator(".asks")
    for way in ("Keep what is saved", "Save mine"):
        sheet.tap("^Fronts")
        sheet.says("Fronts $193.00")
        work = WorkFactory(visit=Visit.objects.get(), horse=juniper, service=trim, note="thin soles")
        sheet.tap("^Save")
        asked.and_(own_page.locator(":focus")).wait_for()
        shown, focus = asked.inner_text(), own_page.evaluate("document.activeElement.className")
        names = list(Work.objects.values_list("service__name", flat=True))
        width = own_page.evaluate("document.documentElement.scrollWidth")
        asked.get_by_text(way).click()
        asked.wait_for(state="detached")
        if way == "Keep what is saved":
            sheet.says("Trim $50.00")
            work.delete()
            own_page.reload()

    assert all(
        words in shown for words in ("Trim, at $50.00 (thin soles)", "LF: Plain front, No 2", "Fronts")
    )
    assert (focus, names, width <= own_page.viewport_size["width"]) == ("asks", ["Trim"], True)
    assert (Work.objects.get().service.name, own_page.problems) == ("Fronts", [])
