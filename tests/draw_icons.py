"""Draws the icons of the installed program from its mark: `python3 -m tests.draw_icons`, in .venv.

Not every phone takes an SVG for them. What is drawn is committed, so that no machine needs a browser for it;
run it again after a change to `practice/static/mark.svg`.
"""

import re
import shutil
from pathlib import Path

from playwright.sync_api import sync_playwright

STATIC = Path(__file__).resolve().parent.parent / "practice" / "static"
# Name: its size, how large the mark is in it, and whether the ground fills the corners. A phone cuts a shape
# of its own out of a maskable icon; a circle of 80 % of its width is never cut (W3C's Web App Manifest).
ICONS = {"192": (192, 1, False), "512": (512, 1, False), "180": (180, 1, True), "maskable": (512, 0.85, True)}


def drawing(scale: float, filled: bool) -> str:
    """Return the mark as SVG, on a ground that fills the square where asked."""
    mark = (STATIC / "mark.svg").read_text()
    if not filled:
        return mark
    ground = re.search(r'fill="(#\w+)"', mark)[1]
    head, shapes = re.match(r"(<svg[^>]*>)(.*)</svg>", mark, re.DOTALL).groups()
    away = 24 * (1 - scale)
    return (
        f'{head}<rect width="48" height="48" fill="{ground}"/>'
        f'<g transform="translate({away} {away}) scale({scale})">{shapes}</g></svg>'
    )


def draw() -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for name, (size, scale, filled) in ICONS.items():
            page = browser.new_page(viewport={"width": size, "height": size})
            page.set_content(f"<style>body {{ margin: 0 }}</style>{drawing(scale, filled)}")
            page.screenshot(path=STATIC / "icons" / f"{name}.png", omit_background=True)
        browser.close()


if __name__ == "__main__":
    draw()
