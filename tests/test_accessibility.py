"""Every page as axe-core, a thumb, a reader of large type and a keyboard meet it.

axe-core comes with the package axe-playwright-python. Its rules check W3C's WCAG 2.2 and good practice; the
numbers beside the other checks are from WCAG 2.2 itself (https://www.w3.org/TR/WCAG22/).
"""

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from django.urls import reverse

from practice.lib.profile import Profile
from practice.models import Vehicle
from tests.conftest import DESK, PHONE
from tests.factories.practice import DAY
from tests.walk import book_of_all_pages, one_of_each, pages

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]

# Off in axe-core unless asked for: names that hold what is seen (WCAG 2.5.3) and text at 7:1 (1.4.6), which
# finds all that the usual 4.5:1 does.
RULES = {"color-contrast": False, "color-contrast-enhanced": True, "label-content-name-mismatch": True}
FEW = {"resultTypes": ["violations"], "selectors": False, "preload": False}
ALL_RULES = {**FEW, "rules": {name: {"enabled": is_on} for name, is_on in RULES.items()}}
COLORS = {**FEW, "runOnly": ["color-contrast-enhanced"]}

# What can be tapped, as large as the finger finds it: a tick and a choice with their label. A link within a
# sentence may be as low as its line (WCAG 2.5.5, "Inline").
SMALL = """() => {
  const words = (node) => [...node.childNodes].some((each) => each.nodeType === 3 && /\\w/.test(each.data));
  const small = [];
  for (const each of document.querySelectorAll("a[href], button, input, select, textarea, summary")) {
    const target = each.matches("[type=checkbox], [type=radio]") ? each.closest("label") || each : each;
    const { width, height } = target.getBoundingClientRect();
    const isShown = each.checkVisibility({ visibilityProperty: true }) && !each.closest(".away, .skip");
    const isInSentence = getComputedStyle(each).display === "inline" && words(each.parentElement);
    if (isShown && !isInSentence && (width < 43.99 || height < 43.99))
      small.push(`${each.outerHTML.slice(0, 120)} is ${Math.round(width)} x ${Math.round(height)}`);
  }
  return small;
}"""

# What has the focus and is not itself at the thumb must not be behind what is (WCAG 2.4.12).
HIDDEN = """() => {
  const isFixed = (each) => ["fixed", "sticky"].includes(getComputedStyle(each).position);
  const bars = [...document.querySelectorAll(".thumb, .words, .bar")]
    .filter((each) => isFixed(each) && each.checkVisibility())
    .map((each) => each.getBoundingClientRect());
  const hidden = [], tapped = ":is(a[href], button, input, select, textarea, summary)";
  for (const each of document.querySelectorAll(`main ${tapped}`)) {
    if (!each.checkVisibility() || each.tabIndex < 0 || each.closest(".thumb")) continue;
    each.focus();
    const { top, bottom } = each.getBoundingClientRect();
    if (bars.some((bar) => top < bar.bottom - 1 && bottom > bar.top + 1))
      hidden.push(`${each.outerHTML.slice(0, 120)} is behind a bar`);
  }
  return hidden;
}"""

# WCAG 1.4.12: line height 1.5, paragraphs 2, letters 0.12 and words 0.16 times the size of the type.
SPACED = """() => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(`p { margin-bottom: 2em !important; } * { line-height: 1.5 !important;
    letter-spacing: 0.12em !important; word-spacing: 0.16em !important; }`);
  document.adoptedStyleSheets = [sheet];
}"""
TOO_WIDE = """() => {
  const { scrollWidth, clientWidth } = document.documentElement;
  const sticksOut = (each) =>
    each.getBoundingClientRect().right > clientWidth + 0.5 ||
    (each.clientWidth > 1 && each.scrollWidth > each.clientWidth + 1);
  const out = [...document.querySelectorAll("body *")].filter(
    (each) => sticksOut(each) && !each.closest(".table-wide, .aisle")
  );
  return scrollWidth > clientWidth ? [`${out.at(-1)?.outerHTML.slice(0, 120)} sticks out`] : [];
}"""
FOCUSED = "[document.activeElement.id, document.activeElement.name, document.activeElement.value].join(' ')"


@pytest.fixture
def book(settings):
    settings.TODAY = DAY
    return book_of_all_pages()


class Findings(dict):
    """What is wrong, each with the pages that have it."""

    def add(self, where: str, found: list[str]) -> None:
        for each in found:
            self.setdefault(each, []).append(where)

    def lines(self) -> list[str]:
        return [f"{each}  ({len(places)} x: {', '.join(places[:3])})" for each, places in self.items()]


def axe(page, options: dict = ALL_RULES) -> list[str]:
    """Return what axe-core finds on the page as it stands; fails where no rule found anything to look at."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)  # not stopped by the Content-Security-Policy
    found = page.evaluate("options => axe.run(options)", options)
    assert found["passes"], page.url
    return [f"{rule['id']}: {node['html'][:160]}" for rule in found["violations"] for node in rule["nodes"]]


def visit(page, path: str, status: int = 200) -> None:
    """Open a page and wait for the parts that it fetches."""
    assert (path, page.goto(path).status) == (path, status)
    page.wait_for_selector(".htmx-request", state="detached")


def resize(page, width: int, height: int) -> None:
    page.set_viewport_size({"width": width, "height": height})


def look_at(page, findings: Findings, where: str) -> None:
    """Look at a page that is open: on a phone, in the sun, on a dark desk, at 200 %, narrow and spaced."""
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    for check in (SMALL, HIDDEN, TOO_WIDE):
        findings.add(where, page.evaluate(check))
    findings.add(where, axe(page))
    page.evaluate("document.documentElement.classList.add('sun')")
    findings.add(f"{where} in the sun", axe(page, COLORS))
    page.evaluate("document.documentElement.classList.remove('sun')")

    page.emulate_media(color_scheme="dark")
    resize(page, *DESK)
    for check in (SMALL, TOO_WIDE):
        findings.add(f"{where} on a desk", page.evaluate(check))
    findings.add(f"{where} on a dark desk", axe(page))
    resize(page, DESK[0] // 2, DESK[1] // 2)  # 200 % (WCAG 1.4.4)
    findings.add(f"{where} at 200 %", page.evaluate(TOO_WIDE))
    resize(page, 320, 844)  # a desk at 400 %, or a small phone (WCAG 1.4.10)
    page.evaluate(SPACED)
    findings.add(f"{where} narrow and spaced", page.evaluate(TOO_WIDE))
    page.emulate_media(color_scheme="light")
    resize(page, *PHONE)


@pytest.mark.parametrize("part", ["root", "practice", "stock", "billing"])
def test_every_page_is_sound(open_page, user, browser, book, part):
    page = open_page(*PHONE, user=user)
    findings = Findings()

    for path in pages(browser, book, part):
        visit(page, path)
        look_at(page, findings, path)

    assert (findings.lines(), page.problems) == ([], [])


def test_pages_of_an_empty_book_are_sound(open_page, user, settings):
    settings.TODAY = DAY
    page = open_page(*PHONE, user=user)
    findings = Findings()

    for path in ("/", "/round/", "/horses/", "/truck/", "/road/", "/money/", "/counts/", "/year/"):
        visit(page, path)
        look_at(page, findings, path)

    assert (findings.lines(), page.problems) == ([], [])


def test_the_demo_and_what_leads_out_of_it_are_sound(open_page, user, book):
    Profile.objects.update(is_demo=True)
    page = open_page(*PHONE, user=user)
    findings = Findings()

    for path in ("/", "/own-book/"):
        visit(page, path)
        look_at(page, findings, path)

    assert (findings.lines(), page.problems) == ([], [])


def test_a_step_that_was_not_saved_is_sound(open_page, user, settings):
    settings.TODAY = DAY
    page = open_page(*PHONE, user=user)
    visit(page, "/begin/?at=clients")
    page.locator("#step-clients > .acts > button").click()
    page.wait_for_selector(".errors")
    findings = Findings()

    look_at(page, findings, "a client without a name")

    assert (findings.lines(), page.problems) == ([], [])


def test_logging_in_is_sound_also_after_a_wrong_password(open_page, user):
    page = open_page(*PHONE)
    visit(page, "/login/")
    findings = Findings()
    look_at(page, findings, "login")

    page.get_by_label("Name").fill("farrier")
    page.get_by_label("Password").fill("five nails a shoe")
    page.get_by_role("button", name="Log in").click()
    page.wait_for_selector(".errors")
    look_at(page, findings, "wrong password")

    assert findings.lines() == []


def test_forms_that_were_not_saved_and_what_is_said_after_saving_are_sound(open_page, user, book):
    page = open_page(*PHONE, user=user)
    findings = Findings()

    for name in ("billing:expense-add", "stock:item-add", "practice:client-add"):
        visit(page, reverse(name))
        page.locator("main .act").click()
        page.wait_for_selector(".errors")
        look_at(page, findings, name)
    page.locator("main").get_by_label("Name").first.fill("Wren Halloway")
    page.locator("main .act").click()
    page.wait_for_selector(".message")
    look_at(page, findings, "saved")

    assert (findings.lines(), page.problems) == ([], [])


def test_a_page_that_is_not_there_is_sound(open_page, user, book):
    page = open_page(*PHONE, user=user)
    visit(page, "/nowhere/", status=404)
    findings = Findings()

    look_at(page, findings, "404")

    assert findings.lines() == []


def tap(page, selector: str) -> str:
    """Tap something with the Enter key; return what has the focus once the answer stands there."""
    page.locator(selector).focus()
    with page.expect_response(lambda answer: "hx-request" in answer.request.headers):
        page.keyboard.press("Enter")
    page.wait_for_selector(".htmx-request, .htmx-swapping, .htmx-settling", state="detached")
    return page.evaluate(FOCUSED).strip()


def test_focus_stays_where_a_horse_was_tapped_and_what_changed_is_read_out(open_page, user, book):
    page = open_page(*PHONE, user=user)
    visit(page, reverse("practice:visit-horse", args=[book["visits"], book["horses"]]))
    pick = f"pick-{book['services']}"

    focused, news, region = [], [], page.locator("#sum[role=status]")
    for selector in (f"#{pick}", f"#{pick}", "#last", "[name=clear]"):
        focused.append(tap(page, selector))
        news.append(" ".join(region.inner_text().split()))

    value, chosen, none = book["services"], "A trim $45.00", "Last time: A trim"
    assert focused == [f"{pick} pick {value}", f"{pick} pick {value}", "clear 1", "last last 1"]
    assert (news, page.problems) == ([chosen, none, chosen, none], [])


def test_focus_stays_at_the_order_of_a_list_and_its_count_is_read_out(open_page, user, book):
    one_of_each(Vehicle.objects.get(pk=book["vehicles"]))
    page = open_page(*DESK, user=user)
    visit(page, reverse("practice:horse-all"))

    orders = page.locator(".ways a").evaluate_all("all => all.map((each) => each.id)")
    focused = [tap(page, f"#{name}") for name in orders]

    news = [page.locator("#news").inner_text()]
    with page.expect_response(lambda answer: "hx-request" in answer.request.headers):
        page.locator("#q").fill("no horse of this name")
    page.locator("#news", has_text="No ").wait_for(state="attached")

    assert (focused, len(orders) > 1, news) == (orders, True, ["5 horses"])
    assert (page.evaluate(FOCUSED), page.problems) == ("q q no horse of this name", [])
