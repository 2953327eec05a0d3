"""How soon the round stands on a phone without signal, from its service worker.

The processor is slowed down for the page to a quarter, as Chromium can; the worker itself is not slowed down.
What is timed is the first paint, by the browser's own clock, in a new tab each time.
"""

from statistics import median

import pytest

from tests.conftest import PHONE
from tests.project.phone.test_kept_in_browser import ROUND, keeping, stop, without_signal  # noqa: F401

pytestmark = pytest.mark.benchmark
TURNS, QUARTER = 9, 4
PAINTED = """() => new Promise((resolve) => new PerformanceObserver((seen) =>
  resolve(seen.getEntries()[0].startTime / 1000)).observe({ type: "paint", buffered: true }))"""


@pytest.mark.django_db(transaction=True)
def test_the_round_without_signal(open_page, user, stop, record_property):  # noqa: F811
    tab = without_signal(keeping(open_page(*PHONE, user=user, service_workers="allow")))
    took: dict[int, list[float]] = {1: [], QUARTER: []}

    for _ in range(TURNS):
        for rate, paints in took.items():
            page = tab.context.new_page()
            page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": rate})
            page.goto(ROUND)
            paints.append(page.evaluate(PAINTED))
            assert page.locator("#as-of").is_visible()
            page.close()

    what = "the round without signal, at a quarter of the speed"
    record_property("figure", [what, median(took[QUARTER]), "the same at full speed", median(took[1])])
