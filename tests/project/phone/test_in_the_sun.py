"""The pages of the day on a small phone, one-handed: in the sun, and with letters of twice the size."""

import shutil

import pytest
from django.urls import reverse

from practice.models import Visit
from tests.conftest import CHROMIUM_FLAGS, HEADLESS, session_cookie
from tests.factories.practice import DAY
from tests.test_accessibility import TOO_WIDE, axe
from tests.walk import book_of_all_pages

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]

WIDTH, HEIGHT = 360, 640
THUMB = 56  # CSS pixels: how high what is tapped in the sun has to be
LOW = f"""() => [...document.querySelectorAll("main :is(a[href], button, summary, .choice label), .words a")]
  .filter((each) => each.checkVisibility({{ visibilityProperty: true }}) && !each.closest(".away"))
  .filter((each) => getComputedStyle(each).display !== "inline")
  .filter((each) => each.getBoundingClientRect().height < {THUMB} - 0.5)
  .map((each) => `${{each.outerHTML.slice(0, 120)}} is ${{each.getBoundingClientRect().height}} high`)"""


@pytest.fixture
def day(settings):
    """The addresses of a round, a stop, a horse there and its finding."""
    settings.TODAY = DAY
    book = book_of_all_pages()
    visit, horse = Visit.objects.get(pk=book["visits"]), book["horses"]
    return [
        reverse("practice:round", args=[DAY.isoformat()]),
        visit.get_absolute_url(),
        reverse("practice:visit-horse", args=[visit.pk, horse]),
        reverse("practice:finding-add", args=[visit.pk, horse]),
    ]


def test_in_the_sun_what_is_tapped_is_high_enough_for_a_thumb(open_page, user, day, live_server):
    page = open_page(WIDTH, HEIGHT, user=user)
    page.context.add_cookies([{"name": "sun", "value": "yes", "url": live_server.url}])

    found = {}
    for path in day:
        page.goto(path)
        assert page.locator("html.sun").count() == 1
        found[path] = [*page.evaluate(LOW), *page.evaluate(TOO_WIDE), *axe(page)]

    assert found == dict.fromkeys(day, [])


def test_with_letters_of_twice_the_size_nothing_is_cut_off(chromium, user, day, live_server):
    """The reader's own size of letters, as browsers have it in their settings: 32 pixels for 16."""
    reader = chromium.browser_type.launch(
        executable_path=shutil.which(HEADLESS),
        args=[*CHROMIUM_FLAGS, "--blink-settings=defaultFontSize=32"],
    )
    context = reader.new_context(
        base_url=live_server.url, viewport={"width": WIDTH, "height": HEIGHT}, service_workers="block"
    )
    context.add_cookies([{**session_cookie(user), "url": live_server.url}])
    page = context.new_page()

    found = {}
    for path in day:
        page.goto(path)
        found[path] = page.evaluate(TOO_WIDE)
    size = page.evaluate("parseFloat(getComputedStyle(document.body).fontSize)")
    reader.close()

    assert size >= 32
    assert found == dict.fromkeys(day, [])
