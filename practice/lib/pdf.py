"""A template under `templates/pdf/` made into a PDF: tagged, fonts embedded, nothing fetched.

Only the program's own fonts and stylesheets, the practice's logo and its photos can be reached, as
`asset:///ROOT/NAME`; any other address stops the rendering.
"""

import threading
from importlib.resources import files
from pathlib import Path
from urllib.parse import unquote
from uuid import UUID

from django.conf import settings
from django.template.loader import render_to_string

TYPES = {
    ".ttf": "font/ttf",
    ".css": "text/css",
    ".png": "image/png",
    ".jpg": "image/jpeg",
}
VARIANT = "pdf/ua-1"
_kept = threading.local()


class PdfUnavailable(Exception):
    """This machine cannot make PDFs; the message says what is missing and how to install it."""


class ForbiddenAddress(Exception):
    """A document asked for something that is not an asset of the program."""


def asset_roots() -> dict[str, list[Path]]:
    """Return the folders that documents may read from, by the first part of an asset's address."""
    fonts = [Path(str(files(package) / "files")) for package in ("font_fjallaone", "font_source_sans_pro")]
    return {
        "fonts": fonts,
        "css": [settings.BASE_DIR / "practice/static/css"],
        "logo": [settings.DATA_DIR],
        "photos": [settings.DATA_DIR / "photos"],
    }


def find_asset(url: str) -> Path | None:
    """Return the file behind an `asset:///` address; None for anything else."""
    if not url.startswith("asset:///"):
        return None
    root, _, name = unquote(url.removeprefix("asset:///")).partition("/")
    for folder in asset_roots().get(root, []):
        path = (folder / name).resolve()
        inside = path.parent == folder.resolve()
        if inside and path.is_file() and path.suffix in TYPES and (root != "logo" or path.stem == "logo"):
            return path
    return None


def render_html(template: str, context: dict) -> str:
    """Return the document as HTML: what tests read."""
    return render_to_string(template, context)


def render_pdf(template: str, context: dict, identifier: UUID | None = None) -> bytes:
    """Return the document as PDF/UA-1. The same input gives the same bytes.

    `identifier` becomes the file's identifier, by which `is_paper` knows it again. Raises PdfUnavailable if
    the machine lacks Pango, ForbiddenAddress if the document asks for anything but an asset.
    """
    return render_pdfs(template, [context], identifier=identifier)


def is_paper(content: bytes, identifier: UUID) -> bool:
    """Whether this is a whole PDF with this identifier: the first one under `ID` (ISO 32000-1, 14.4)."""
    whole = content.startswith(b"%PDF-") and content.rstrip().endswith(b"%%EOF")
    return whole and b"/ID [(%s)" % identifier.hex.encode() in content


def render_pdfs(
    template: str, contexts: list[dict], title: str = "", identifier: UUID | None = None
) -> bytes:
    """Return documents of one template as one PDF/UA-1, one after the other, each with its own page numbers.

    Without a `title` it has the first document's. Raises as `render_pdf` does.
    """
    try:
        from weasyprint import HTML
        from weasyprint.text.fonts import FontConfiguration
        from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse
    except OSError as error:
        raise PdfUnavailable(settings.PDF_PROBLEM() or f"PDFs cannot be made here: {error}") from error

    class AssetsOnly(URLFetcher):
        def __init__(self):
            super().__init__(allowed_protocols={"asset"})
            self.refused = []

        def fetch(self, url, headers=None):
            path = find_asset(url)
            if path is None:
                self.refused.append(url)
                raise FatalURLFetchingError(f"not an asset of the program: {url}")
            return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": TYPES[path.suffix]})

    # One font configuration a thread: a new one for each document leaks.
    if not hasattr(_kept, "fonts"):
        _kept.fonts = FontConfiguration()
    fetcher, documents = AssetsOnly(), []
    try:
        for context in contexts:
            html = render_html(template, context)
            document = HTML(string=html, base_url="asset:///", url_fetcher=fetcher)
            documents.append(document.render(font_config=_kept.fonts, pdf_variant=VARIANT))
        whole = documents[0].copy([page for document in documents for page in document.pages])
        whole.metadata.title = title or whole.metadata.title
        identifier = identifier.hex.encode() if identifier else None
        content = whole.write_pdf(pdf_variant=VARIANT, pdf_identifier=identifier)
    except FatalURLFetchingError as error:
        raise ForbiddenAddress(str(error)) from error
    if fetcher.refused:
        raise ForbiddenAddress(f"not an asset of the program: {fetcher.refused[0]}")
    return content
