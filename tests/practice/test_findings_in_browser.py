"""A finding on the phone: each zone of each foot is tapped where it is drawn, also without signal."""

import pytest
from django.urls import reverse

from practice.models import Finding, Foot, Zone
from tests.conftest import DESK, PHONE
from tests.factories.practice import DAY, HorseFactory, ProfileFactory, VisitFactory
from tests.test_accessibility import COLORS, HIDDEN, SMALL, TOO_WIDE, axe

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
SMALL_PHONE = (360, 640)
DRAWN = [zone for zone in Zone.values if zone != Zone.WHOLE_FOOT]

# The middle of a shape as it is drawn: of the points in it, the one farthest from its edge.
MIDDLE = """([foot, zone]) => {
  const drawing = document.querySelector(`.zones.${foot} .hoof`);
  const mark = drawing.querySelector(`.m-${zone.replaceAll(" ", "-")}`);
  const shape = document.querySelector(mark.getAttribute("href")), box = shape.getBBox();
  const within = (x, y) => shape.isPointInFill(new DOMPoint(x, y));
  let best = { r: 0 };
  for (let x = box.x; x < box.x + box.width; x += 4)
    for (let y = box.y; y < box.y + box.height; y += 4) {
      let r = within(x, y) ? 1 : 0;
      const isClear = () => [...Array(12).keys()].every((each) =>
        within(x + r * Math.cos(each * Math.PI / 6), y + r * Math.sin(each * Math.PI / 6)));
      while (r && isClear()) r += 1;
      if (r > best.r) best = { x, y, r };
    }
  drawing.scrollIntoView({ block: "end" });
  const { x, y } = new DOMPoint(best.x, best.y).matrixTransform(mark.getScreenCTM());
  return [x, y];
}"""

# How large a circle fits into what chooses each zone, in pixels of the page, by looking every 2 pixels.
ROOM = """(foot) => {
  const ground = document.querySelector(`.zones.${foot} .ground`), step = 2, zones = {}, at = [];
  ground.scrollIntoView({ block: "end" });
  const { left, top, width, height } = ground.getBoundingClientRect();
  const zoneAt = (x, y) => {
    const label = document.elementFromPoint(x, y)?.closest(`.zones.${foot} .taps label`);
    return label ? document.getElementById(label.htmlFor).value : "";
  };
  for (let y = -step; y <= height + step; y += step) {
    at.push([]);
    for (let x = -step; x <= width + step; x += step) at.at(-1).push(zoneAt(left + x, top + y));
  }
  const edges = {};
  at.forEach((row, y) => row.forEach((zone, x) => {
    const beside = [at[y - 1]?.[x], at[y + 1]?.[x], row[x - 1], row[x + 1]];
    for (const each of new Set(beside)) if (each && each !== zone) (edges[each] ??= []).push([x, y]);
  }));
  at.forEach((row, y) => row.forEach((zone, x) => {
    if (!zone || (x + y) % 3) return;
    const nearest = Math.min(...edges[zone].map(([ex, ey]) => Math.hypot(ex - x, ey - y)));
    zones[zone] = Math.max(zones[zone] ?? 0, 2 * nearest * step);
  }));
  return zones;
}"""


@pytest.fixture
def horse(transactional_db, settings):
    settings.TODAY = DAY
    ProfileFactory(vet_name="Dr. Quill", vet_phone="555-0142")
    return HorseFactory(name="Juniper")


@pytest.fixture
def visit(horse):
    return VisitFactory(place=horse.place, date=DAY)


@pytest.fixture
def open_form(open_page, user, horse, visit):
    """Return a function that opens the form of a new finding at a size of the window."""

    def open_at(size, **options):
        page = open_page(*size, user=user, **options)
        page.goto(reverse("practice:finding-add", args=[visit.pk, horse.pk]))
        return page

    return open_at


def choose(page, name: str, value: str) -> None:
    page.locator(f'.choice label:has([name="{name}"][value="{value}"])').click()


def chosen(page) -> str | None:
    return page.evaluate("document.querySelector('[name=zone]:checked')?.value ?? null")


@pytest.mark.parametrize("foot", Foot.values)
@pytest.mark.parametrize("size", [SMALL_PHONE, DESK], ids=["small phone", "desk"])
def test_a_tap_in_the_middle_of_each_zone_chooses_it(open_form, size, foot):
    page = open_form(size)
    choose(page, "foot", foot)

    tapped, shown = {}, {}
    for zone in DRAWN:
        page.mouse.click(*page.evaluate(MIDDLE, [foot, zone]))
        tapped[zone] = chosen(page)
        shown[zone] = page.locator(f".zones.{foot} .mark:visible").count()
    page.locator(f".zones.{foot}").get_by_text("Whole foot").click()

    assert tapped == {zone: zone for zone in DRAWN}
    assert set(shown.values()) == {1}
    assert (chosen(page), page.problems) == ("whole foot", [])


@pytest.mark.parametrize("foot", ["LF", "LH"])
def test_a_thumb_finds_each_zone_on_a_small_phone(open_form, foot):
    page = open_form(SMALL_PHONE)
    choose(page, "foot", foot)

    room = page.evaluate(ROOM, foot)

    assert set(room) == set(DRAWN)
    assert {zone: size for zone, size in room.items() if size < 44} == {}


def test_the_inside_of_a_left_foot_is_on_the_left_and_of_a_right_one_on_the_right(open_form):
    page = open_form(PHONE)

    sides = {}
    for foot in Foot.values:
        choose(page, "foot", foot)
        inside, outside = (page.evaluate(MIDDLE, [foot, f"{side} quarter"]) for side in ("inside", "outside"))
        words = page.locator(f".zones.{foot} .sides > span").all_inner_texts()
        sides[foot] = (words[0], inside[0] < outside[0])

    left, right = ("inside", True), ("outside", False)
    assert sides == {"LF": left, "RF": right, "LH": left, "RH": right}
    choose(page, "foot", "all")
    assert page.locator(".zones:visible").count() == 0


def test_a_sign_for_the_veterinarian_raises_the_caution_at_once_also_without_signal(open_form):
    page = open_form(PHONE)
    page.context.set_offline(True)
    caution, tick = (
        page.get_by_text("Call the veterinarian."),
        page.get_by_label("Call the veterinarian about it"),
    )

    seen = []
    for sign in ("flare", "heat", "something driven in", "crack"):
        choose(page, "kind", sign)
        seen.append((caution.is_visible(), tick.is_visible()))
    tick.check()

    assert seen == [(False, True), (True, False), (True, False), (False, True)]
    assert caution.is_visible()
    assert page.get_by_role("link", name="Call Dr. Quill, 555-0142").get_attribute("href") == "tel:5550142"


def test_all_of_it_is_chosen_by_keyboard_and_saved_without_javascript(open_form, horse):
    page = open_form(PHONE, java_script_enabled=False)
    page.locator("[name=foot]").first.focus()
    for keys in (["Space"], ["Tab", "Space", "ArrowRight", "ArrowRight"], ["Tab", "Space", "ArrowRight"]):
        for key in keys:
            page.keyboard.press(key)
    page.get_by_role("button", name="Save the finding").click()
    page.wait_for_url("**/horses/*/")

    assert Finding.objects.get().words == "Pus draining: left fore, outside quarter."


def test_each_choice_is_named_by_its_word_alone(open_form):
    page = open_form(PHONE)

    names = page.get_by_role("group", name="Where on it?").get_by_role("radio")

    assert [
        each.evaluate("each => document.getElementById(each.getAttribute('aria-labelledby')).innerText")
        for each in names.all()
    ] == Zone.labels
    for zone in Zone.labels:
        assert page.get_by_role("radio", name=zone, exact=True).count() == 1


@pytest.mark.parametrize("size", [PHONE, SMALL_PHONE, DESK], ids=["phone", "small phone", "desk"])
def test_with_everything_chosen_the_page_is_sound(open_form, size):
    page = open_form(size)
    for name, value in (("foot", "RH"), ("zone", "frog"), ("kind", "wound"), ("marked", "severe")):
        choose(page, name, value)

    found = [*axe(page), *page.evaluate(SMALL), *page.evaluate(HIDDEN), *page.evaluate(TOO_WIDE)]
    page.evaluate("document.documentElement.classList.add('sun')")
    found += [*axe(page, COLORS), *page.evaluate(SMALL), *page.evaluate(TOO_WIDE)]

    assert (found, page.problems) == ([], [])
