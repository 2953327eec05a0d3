"""What a browser needs to install the program: the manifest, its icons, and the service worker."""

import json
import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.core.files import File
from django.core.files.base import ContentFile
from django.urls import reverse
from PIL import Image

from practice.project.phone.program import kept_files
from practice.project.static_files import StaticFiles, as_sent

pytestmark = pytest.mark.django_db
STATIC = Path(finders.find("mark.svg")).parent


def program_of(browser) -> dict:
    answer = browser.get(reverse("phone-worker"))
    assert answer.headers["Cache-Control"] == "no-cache"
    return json.loads(re.match(r"self.program = (.*);\n", answer.content.decode())[1])


def test_the_manifest_opens_the_round_in_a_window_of_its_own_in_the_colors_of_the_program(client):
    answer = client.get(reverse("phone-manifest"))
    said = answer.json()

    assert answer.headers["Content-Type"] == "application/manifest+json"
    assert {name: said[name] for name in ("name", "start_url", "scope", "display")} == {
        "name": "Roundbook",
        "start_url": "/round/",
        "scope": "/",
        "display": "standalone",
    }
    tokens = (STATIC / "css" / "tokens.css").read_text()
    assert (f"--ground: {said['background_color']}" in tokens) and (
        f"--iron: {said['theme_color']}" in tokens
    )


def test_each_icon_is_as_large_as_it_says_and_shows_the_mark(client):
    sizes, pixels = {}, {}
    for icon in client.get(reverse("phone-manifest")).json()["icons"]:
        with Image.open(STATIC / icon["src"].removeprefix("/static/")) as image:
            sizes[icon["src"]] = (icon["sizes"], "{}x{}".format(*image.size))
            corner, foot = image.convert("RGBA").getpixel((0, 0)), (image.width // 2, image.height // 4)
            pixels[icon["src"]] = (corner[3], image.convert("RGBA").getpixel(foot))

    foot = (0xF6, 0xF5, 0xF2, 255)
    assert {said == found for said, found in sizes.values()} == {True}
    assert pixels == {  # the corners of a maskable icon are not clear: phones cut them
        "/static/icons/192.png": (0, foot),
        "/static/icons/512.png": (0, foot),
        "/static/icons/maskable.png": (255, foot),
    }


def test_every_file_of_a_page_is_kept(browser):
    used = set()
    for path in ("/", "/round/", "/settings/", reverse("phone-kept")):
        html = browser.get(path, follow=True).content.decode()
        used |= set(re.findall(r'(?:src|href)="(/static/[^"]+)"', html))
    for name in finders.find("css/base.css"), *(STATIC / "js").glob("*.js"):
        text = Path(name).read_text()
        used |= {f"/static/fonts/{font}" for font in re.findall(r"\.\./fonts/([\w.-]+)", text)}
        used |= {f"/static/js/{module}" for module in re.findall(r'from "\./([\w.]+)"', text)}

    icons = {path for path in used if path.startswith("/static/icons/")}  # the browser's own
    assert used - icons - set(kept_files()) == set()
    assert [path for path in kept_files() if not finders.find(path.removeprefix("/static/"))] == []


def test_another_program_is_another_worker_to_a_browser(browser, settings):
    first, again = program_of(browser), program_of(browser)
    settings.VERSION = "another"
    other = program_of(browser)

    assert first == again
    assert first["version"] != other["version"]
    assert first["files"] == other["files"]


def test_pages_name_the_worker_only_to_who_is_logged_in_and_not_while_the_program_is_worked_on(
    browser, client, settings
):
    def names_worker() -> bool:
        return 'data-worker="/worker.js"' in client.get("/round/", follow=True).content.decode()

    logged_in = names_worker()
    settings.DEBUG = True
    in_debug = names_worker()
    settings.DEBUG = False
    client.logout()

    assert (logged_in, in_debug, names_worker()) == (True, False, False)


def test_all_scripts_of_our_own_are_below_40_kib_as_sent():
    scripts = (STATIC / "js").glob("*.js")
    sizes = {file.name: len(as_sent(file.read_text()).encode()) for file in scripts}

    assert sizes["worker.js"] > 0
    assert sum(sizes.values()) <= 40 * 1024, sizes


def test_a_script_is_sent_without_its_comments_and_blanks_and_means_the_same():
    script = (
        '// What it does.\n\nconst url = "https://barn.example, or not"; // so far\n'
        "\n/** Add up.\n  by ones */\n"
        "function count(all) {\n  // One more.\n  return all /* so far */ + 1 - -1;\n}\n"
        "const one = (text) => `${text} = a`.split(/[,;] /).map(({ size }) => size / 2 ?? 'a : b');\n"
    )

    assert as_sent(script) == (
        'const url="https://barn.example, or not";'
        "function count(all){return all + 1 - -1}"
        "const one=(text)=>`${text} = a`.split(/[,;] /).map(({size})=>size / 2??'a : b');"
    )


@pytest.mark.parametrize("name", sorted(file.name for file in (STATIC / "js").glob("*.js")))
def test_what_is_sent_differs_from_a_script_by_comments_blanks_and_last_semicolons_alone(name):
    script = (STATIC / "js" / name).read_text()
    lines = [line for line in script.splitlines() if not re.match(r" *(//|/\*\*| \*)", line)]
    lines = [line.split(" // ")[0] for line in lines]
    sentences = [text for line in lines for text in re.findall(r'"[A-Z][^"]*"', line)]

    whole = re.sub(r";(?=\})", "", "".join("".join(lines).split()))
    assert "".join(as_sent(script).split()) == whole
    assert [text for text in sentences if text not in as_sent(script)] == []


def test_what_is_collected_has_no_comments(tmp_path, settings):
    settings.STATIC_ROOT = tmp_path
    storage = StaticFiles(location=tmp_path)

    with (STATIC / "js" / "badge.js").open("rb") as script:
        storage.save("js/badge.js", File(script))

    assert (tmp_path / "js" / "badge.js").read_text() == as_sent((STATIC / "js" / "badge.js").read_text())


def test_a_script_whose_hash_was_worked_out_before_is_stored_whole(tmp_path):
    storage = StaticFiles(location=tmp_path)
    script = ContentFile(b"// a comment\nlet one = 1;\n")
    script.read()

    storage.save("js/one.js", script)

    assert (tmp_path / "js" / "one.js").read_text() == "let one=1;"
