"""Makes the pictures of the README from the demo practice: `python3 manage.py test tests/readme`.

Runs only where its folder is named, after a change of the pages that they show.
"""

import re
import subprocess
from io import BytesIO

import pytest
from PIL import Image

from tests.processes import ROOT, started

PICTURES = ROOT / "practice" / "static" / "pictures"
TODAY = "2026-11-26"
LOGIN = {"ROUNDBOOK_USER": "farrier", "ROUNDBOOK_PASSWORD": "six nails a shoe"}
MOST_BYTES = 60_000


def save(name: str, picture: Image.Image, width: int = 640) -> int:
    """Save a picture, small: scaled to a width, in 32 colors. Return its size in bytes."""
    small = picture.convert("RGB")
    small = small.resize((width, round(small.height * width / small.width)), Image.Resampling.LANCZOS)
    path = PICTURES / name
    path.parent.mkdir(exist_ok=True)
    small.quantize(32).save(path, optimize=True)
    return path.stat().st_size


@pytest.fixture(scope="module")
def demo(tmp_path_factory, chromium):
    """A page that is logged in to the demo practice, on a desk."""
    with started(
        ROUNDBOOK_DATA=tmp_path_factory.mktemp("demo") / "data", ROUNDBOOK_TODAY=TODAY, **LOGIN
    ) as book:
        context = chromium.new_context(base_url=book.url, viewport={"width": 1000, "height": 1100})
        page = context.new_page()
        page.goto("/login/")
        page.get_by_label("Name").fill(LOGIN["ROUNDBOOK_USER"])
        page.get_by_label("Password").fill(LOGIN["ROUNDBOOK_PASSWORD"])
        page.get_by_role("button", name="Log in").click()
        page.wait_for_load_state()
        yield page
        context.close()


def test_the_day_ready_to_close(demo):
    demo.goto(f"/close/{TODAY}/")
    top = demo.locator("main").bounding_box()["y"]

    shot = demo.screenshot(full_page=True, clip={"x": 0, "y": top, "width": 1000, "height": 900})

    assert save("day.png", Image.open(BytesIO(shot))) < MOST_BYTES


def test_an_invoice(demo, tmp_path):
    demo.goto("/invoices/")
    pages = demo.locator("main a").evaluate_all("links => links.map(link => link.pathname)")
    latest = next(path for path in pages if re.fullmatch(r"/invoices/\d+/", path))
    pdf = tmp_path / "invoice.pdf"
    pdf.write_bytes(demo.request.get(f"{latest}pdf/").body())

    subprocess.run(["pdftoppm", "-r", "90", "-singlefile", "-png", pdf, tmp_path / "page"], check=True)

    assert save("invoice.png", Image.open(tmp_path / "page.png")) < MOST_BYTES
