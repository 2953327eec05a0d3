"""The form of a horse answers taps on the phone as the server would, with and without signal."""

import random
from decimal import Decimal
from urllib.parse import urlencode

import pytest

from practice.models import MaterialUse, PhoneEntry, Work
from tests.conftest import PHONE
from tests.factories.practice import DAY, FindingFactory, MaterialUseFactory, VisitFactory
from tests.factories.stock import ItemFactory
from tests.practice.test_horse_form import SIX_WEEKS_AGO, Fields, Stop
from tests.project.phone.test_queue import until_sent

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
D = Decimal
NOT_TYPED = ("csrfmiddlewaretoken", "uuid", "opened", "spent")
SLOWER = 4
# How a form looks: what is pressed, shown and said. `html` is the server's page; without it, this page.
LOOKS = """(html) => {
  const page = html ? new DOMParser().parseFromString(html, "text/html") : document;
  const form = page.getElementById("horse");
  const all = (selector) => [...form.querySelectorAll(selector)];
  const words = (each) => each.textContent.replace(/\\s+/g, " ").trim();
  const isShown = (each) => !each.closest("[hidden]");
  const shown = (selector) => all(selector).filter(isShown);
  const button = (each) => [each.name, each.value, each.getAttribute("aria-pressed")];
  return {
    works: all("[name=pick]").map(button),
    feet: all(".feet button").map((each) => [
      ...button(each), each.className, words(each), each.getAttribute("aria-expanded"),
    ]),
    shoes: shown("[data-shoe]").map(words),
    nail: shown("#nail b, #nail small").map(words),
    sizes: shown(".grid button").map(button).sort(),
    question: shown("#which-shoe").map(words),
    without: shown("#foot-sizes .acts button").map(button),
    cautions: shown("[data-when], [data-free]").map(words),
    lines: shown("#lines .legend").map(words),
    again: shown("#filled, #last, #repeat, #save").map((each) => each.id),
    say: words(form.querySelector("#sum > span")),
  };
}"""
OFFERED = """() => [...document.querySelectorAll("#horse button")]
  .filter((each) => each.value && !each.closest("[hidden]") && !/^(save|again|mine|)$/.test(each.name))
  .map((each) => [each.name, each.value])"""
TAP = """([name, value]) => [...document.querySelectorAll("#horse button")]
  .find((each) => each.name === name && each.value === value).click()"""
TAP_AND_LAY_OUT = """(id) => {
  document.getElementById(`pick-${id}`).click();
  return document.getElementById("foot-LF").offsetHeight;
}"""
FIELDS = """() => [...new FormData(document.getElementById("horse"))]"""


@pytest.fixture
def stop(browser, settings):
    """A horse shod before, with a pad, and shoes for each side among those to choose from."""
    settings.TODAY = DAY
    stop = Stop(browser)
    stop.last_time()
    past = VisitFactory(place=stop.visit.place, status="done", date=SIX_WEEKS_AGO)
    FindingFactory(visit=past, horse=stop.horse, kind="heat", refer_to_vet=True)
    for side in ("left", "right"):
        ItemFactory(name=f"Sided {side}", side=side, pattern="sided", size="2", fits="front")
    ItemFactory(name="Plain hind, No 1", pattern="plain", size="1", fits="hind")
    ItemFactory(name="Nails, wide No 6", kind="nail", size="6")
    ItemFactory(name="Sealant", kind="sealant", unit="ml")
    MaterialUseFactory(visit=stop.horse.work.get().visit, horse=stop.horse, item=stop.pad, quantity=D(2))
    return stop


def sent(pairs) -> list[tuple[str, str]]:
    """What Save would send, but for what is blank or nought either way."""
    return sorted(
        (name, value.replace("\r\n", "\n"))
        for name, value in pairs
        if name not in NOT_TYPED and value not in ("", "0", "False")
    )


def fields_of(answer) -> list[tuple[str, str]]:
    values = Fields(answer.content.decode()).values
    return [(name, value) for name, row in values.items() for value in row]


def some_typing(chance, page) -> dict:
    """Fill in one of the fields that are shown, and return it."""
    shown = page.locator("#horse input[inputmode], #horse textarea").all()
    names = [each.get_attribute("name") for each in shown if not each.evaluate("e => e.closest('[hidden]')")]
    name = chance.choice(names)
    value = {"n": str(chance.randint(0, 30)), "q": "1.5", "p": chance.choice(["0", "45.50"]), "i": "2"}[
        name[0]
    ]
    page.evaluate(
        """([name, value]) => {
          const field = document.getElementById("horse").elements[name];
          field.value = value;
          field.dispatchEvent(new Event("change", { bubbles: true }));
        }""",
        [name, value],
    )
    return {name: value}


@pytest.mark.parametrize("seed", range(4))
def test_taps_on_the_phone_look_and_save_as_those_on_the_server(stop, open_page, user, seed):
    chance, page = random.Random(seed), open_page(*PHONE, user=user)
    page.goto(stop.url)
    answer = stop.browser.get(stop.url)

    for _ in range(12):
        typed = some_typing(chance, page) if chance.random() < 0.3 else {}
        offered = page.evaluate(OFFERED)
        kinds = sorted({name for name, _ in offered})
        kind = chance.choice(kinds)
        name, value = chance.choice([tap for tap in offered if tap[0] == kind])
        page.evaluate(TAP, [name, value])
        answer = stop.post(typed, answer=answer, **{name: value})

        here = page.evaluate(LOOKS, "")
        assert here == page.evaluate(LOOKS, answer.content.decode()), (name, value)
        assert sent(page.evaluate(FIELDS)) == sent(fields_of(answer)), (name, value)
    assert page.problems == []


def in_the_book(stop) -> list[tuple]:
    return list(Work.objects.filter(visit=stop.visit).values_list("service__name", "note"))


def pressed(page) -> list[str]:
    return [each.inner_text().split("\n")[0] for each in page.locator("[name=pick][aria-pressed=true]").all()]


def test_what_a_phone_recorded_twice_without_signal_is_no_change_of_someone_else(stop):
    opened = stop.browser.get(stop.url)
    first = Fields(stop.post(answer=opened, pick=stop.fronts.pk).content.decode()).values
    second = stop.post(answer=opened, pick=stop.trim.pk)
    stop.browser.post(stop.url, first | {"save": "1"})

    asked = stop.post(answer=second, save="1")
    saved = stop.post({"earlier": urlencode(first, doseq=True)}, answer=second, save="1")
    Work.objects.filter(visit=stop.visit).update(note="thin soles")
    typed = {"earlier": urlencode(first, doseq=True), f"item_{stop.pad.pk}": "1"}
    again = stop.post(typed, answer=second, save="1")

    assert (asked.status_code, saved.status_code, again.status_code) == (200, 302, 200)
    assert len(asked.context["form"].clashes) == 3
    assert in_the_book(stop) == [("Trim", "thin soles")]


def test_a_horse_saved_as_last_time_without_signal_may_be_changed_before_it_is_sent(stop):
    opened = stop.browser.get(stop.url)
    second = stop.post(answer=opened, pick=stop.trim.pk)
    stop.post(answer=opened, again="1")

    stop.post({"earlier": "again=1"}, answer=second, save="1")

    assert in_the_book(stop) == [("Trim", "")]


@pytest.mark.parametrize("tap", ["#repeat", "#save"])
def test_a_horse_recorded_on_the_phone_is_shown_so_and_its_change_is_sent_after_it(
    stop, open_page, user, tap
):
    page = open_page(*PHONE, user=user)
    page.context.route("**/phone/**", lambda route: route.abort("internetdisconnected"))
    page.goto(stop.url)
    if tap == "#save":
        page.locator(f"#pick-{stop.lost.pk}").click()
        page.locator("#foot-LF").click()
    page.locator(tap).click()
    page.get_by_text("Saved on this phone.").first.wait_for()

    page.goto(stop.url)
    page.get_by_text("Filled in as recorded on this phone.").wait_for()
    page.locator("[data-badge=offline]").wait_for()
    page.get_by_text("Saved on this phone", exact=True).wait_for()
    shown = pressed(page)
    page.locator(f"#pick-{stop.trim.pk}").click()
    page.locator("#save").click()
    page.locator("[data-count=here]", has_text="2 on this phone").wait_for()
    page.context.unroute("**/phone/**")
    page.goto("/round/")
    until_sent(page)

    assert shown == (["Lost shoe"] if tap == "#save" else ["Fronts"])
    works = ["Lost shoe", "Trim"] if tap == "#save" else ["Trim"]
    assert ([name for name, _ in in_the_book(stop)], PhoneEntry.objects.to_settle().count()) == (works, 0)


def processor_time(devtools) -> float:
    """Return the seconds that the page worked so far, not those in which others did."""
    metrics = {each["name"]: each["value"] for each in devtools.send("Performance.getMetrics")["metrics"]}
    return metrics["TaskDuration"]


def test_a_tap_is_answered_at_once_without_signal_at_four_times_slowdown(stop, open_page, user):
    page = open_page(*PHONE, user=user)
    page.goto(stop.url)
    page.context.set_offline(True)
    devtools = page.context.new_cdp_session(page)
    devtools.send("Performance.enable", {"timeDomain": "threadTicks"})

    before = processor_time(devtools)
    page.evaluate(TAP_AND_LAY_OUT, stop.fronts.pk)
    taken = SLOWER * (processor_time(devtools) - before)
    page.get_by_text("No total without signal.").wait_for()

    print(f"\na tap at {SLOWER} times slowdown: {taken * 1000:.0f} ms")
    assert (pressed(page), taken < 0.25) == (["Fronts"], True)
    assert page.locator("#sum b").count() == 0
    assert MaterialUse.objects.filter(visit=stop.visit).count() == 0
