"""What makes a phone install Roundbook: its manifest, and the service worker with the files it needs.

None of it says anything of a practice, so none asks who is there.
"""

import hashlib
import json
import re
from functools import cache
from pathlib import Path

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_GET

from practice.project.static_files import as_sent

WORKER, ENTRIES = "js/worker.js", "js/entries.js"
# Looks and scripts of the pages; what only papers and the first steps use is not kept on a phone.
FOLDERS = {"css": ".css", "js": ".js"}
NOT_OF_PAGES = {WORKER, "css/print.css"}
OTHERS = (
    "django_htmx/htmx-2.min.js",
    "fonts/FjallaOne-Regular.ttf",
    "fonts/SourceSansPro-Regular.ttf",
    "fonts/SourceSansPro-Semibold.ttf",
    "fonts/SourceSansPro-Bold.ttf",
    "mark.svg",
)


@login_not_required
@require_GET
@cache_control(max_age=3600)
def manifest(request: HttpRequest) -> HttpResponse:
    """What a phone shows of the program once it is installed."""
    said = {
        "name": "Roundbook",
        "short_name": "Roundbook",
        "description": "The farrier's book: rounds, horses, stock, miles, and invoices.",
        "id": "/",
        "start_url": reverse("practice:round-today"),
        "scope": "/",
        "display": "standalone",
        "lang": "en",
        "background_color": color("ground"),
        "theme_color": color("iron"),
        "icons": [
            {"src": static("icons/192.png"), "sizes": "192x192", "type": "image/png"},
            {"src": static("icons/512.png"), "sizes": "512x512", "type": "image/png"},
            {
                "src": static("icons/maskable.png"),
                "sizes": "512x512",
                "type": "image/png",
                "purpose": "maskable",
            },
        ],
    }
    return JsonResponse(said, content_type="application/manifest+json")


@login_not_required
@require_GET
@cache_control(no_cache=True)
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker; a program with other files, or another version, is another one to a browser."""
    program = {"version": version(), "files": kept_files(), "missing": reverse("phone-not-kept")}
    # A worker that imports is known to the latest browsers alone.
    entries = as_sent(source_of(ENTRIES)).replace("export ", "")
    parts = [
        f"self.program = {json.dumps(program)};",
        f"{{{entries}\nObject.assign(self,{{kept,send}})}}",
        as_sent(source_of(WORKER)),
    ]
    return HttpResponse("\n".join(parts), content_type="text/javascript")


@login_not_required
@require_GET
def not_kept(request: HttpRequest) -> HttpResponse:
    """What a phone shows without signal in place of a page that it does not keep."""
    return render(request, "phone/not_kept.html")


def kept_files() -> list[str]:
    """Return the addresses of the static files that every page may need."""
    ours = Path(finders.find(WORKER)).parent.parent
    names = [
        f"{folder}/{file.name}"
        for folder, ending in FOLDERS.items()
        for file in sorted((ours / folder).glob(f"*{ending}"))
    ]
    return [static(name) for name in (*names, *OTHERS) if name not in NOT_OF_PAGES]


def version() -> str:
    """Return the name of this program with these files."""
    said = repr((settings.VERSION, kept_files(), source_of(WORKER)))
    return hashlib.sha256(said.encode()).hexdigest()[:16]


def color(name: str) -> str:
    """Return a color of the stylesheets, as it is on a light ground."""
    return re.search(rf"--{name}: (#\w+);", source_of("css/tokens.css"))[1]


@cache
def source_of(name: str) -> str:
    """Return the text of a static file, as it stands in the program."""
    return Path(finders.find(name)).read_text()
