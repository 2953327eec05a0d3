"""Receipts: photos and PDF files in the data folder's `receipts`, each named after its content.

A photo is saved anew as a JPEG of moderate size, so that nothing the phone added goes with it: no
place, no time, no maker. A PDF is kept as it is.
"""

import hashlib
import re
from io import BytesIO
from pathlib import Path

from django.conf import settings

from practice.lib.kept_files import keep_file

LARGEST = 10_000_000
MOST_PIXELS = 60_000_000
LONGEST_SIDE, QUALITY = 2000, 82
NAME = re.compile(r"[0-9a-f]{32}\.(jpg|pdf)")
CONTENT_TYPES = {".jpg": "image/jpeg", ".pdf": "application/pdf"}
# What makes a PDF more than paper; looked for in the plain parts of the file.
NOT_PAPER = (b"/JavaScript", b"/JS", b"/Launch", b"/EmbeddedFile", b"/RichMedia")


def receipt_file(name: str) -> Path:
    """Return where the file of a receipt is. Raises ValueError for anything else."""
    if not NAME.fullmatch(name):
        raise ValueError(f"not a receipt: {name!r}")
    return settings.DATA_DIR / "receipts" / name


def name_of(content: bytes) -> str:
    """Return the name that a clean receipt is kept under: the same content has the same name."""
    suffix = ".pdf" if content.startswith(b"%PDF-") else ".jpg"
    return hashlib.sha256(content).hexdigest()[:32] + suffix


def keep_receipt(content: bytes) -> str:
    """Save a receipt that `clean_receipt` gave, and return its name."""
    name = name_of(content)
    keep_file(receipt_file(name), content)
    return name


def clean_receipt(content: bytes) -> bytes:
    """Return a receipt as it is kept: a JPEG without anything but the picture, or the PDF as it is.

    The content decides what it is, not the file's name; what is clean already comes back unchanged.
    Raises ValueError for anything else and for what is too large; the message says what to do.
    """
    if len(content) > LARGEST:
        raise ValueError("This file is larger than 10 MB. Take a smaller photo.")
    if content.startswith(b"%PDF-"):
        return _checked_pdf(content)
    return _clean_photo(content)


def _checked_pdf(content: bytes) -> bytes:
    if b"%%EOF" not in content[-2048:]:
        raise ValueError("This PDF is incomplete. Download or scan it again.")
    if any(re.search(re.escape(word) + rb"[^A-Za-z]", content) for word in NOT_PAPER):
        raise ValueError("This PDF contains a script or another file. Print it to a plain PDF first.")
    return content


def _is_whole(content: bytes) -> bool:
    """Whether a JPEG or PNG has its end. Pillow itself no longer asks once WeasyPrint is imported."""
    if content.startswith(b"\x89PNG"):
        return b"\x00\x00\x00\x00IEND\xaeB`\x82" in content
    at = 2
    while content[at : at + 1] == b"\xff":
        if content[at + 1 : at + 2] == b"\xda":  # the scan begins; its data cannot hold an end mark
            return b"\xff\xd9" in content[at:]
        filled = content[at + 1 : at + 2] == b"\xff"
        at += 1 if filled else 2 + int.from_bytes(content[at + 2 : at + 4], "big")
    return False


def _clean_photo(content: bytes) -> bytes:
    from PIL import Image, ImageOps

    try:
        with Image.open(BytesIO(content), formats=["JPEG", "PNG"]) as photo:
            if not _is_whole(content):
                raise OSError("cut off")
            small = photo.width * photo.height <= MOST_PIXELS
            if small and _is_plain(photo, content):
                photo.load()
                return content
            if small:
                photo.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
                picture = ImageOps.exif_transpose(photo)
                picture = picture.convert("RGBA" if picture.has_transparency_data else "RGB")
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError):
        raise ValueError("This is neither a photo (JPEG or PNG) nor a PDF.") from None
    if not small:
        raise ValueError("This photo has more than 60 megapixels. Take a smaller photo.")
    picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    paper = Image.new("RGB", picture.size, "white")
    paper.paste(picture, mask=picture if picture.mode == "RGBA" else None)
    out = BytesIO()
    paper.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def _is_plain(photo, content: bytes) -> bool:
    """Whether a picture is a JPEG as this module writes it: no segment of anybody else, nothing behind it."""
    return (
        photo.format == "JPEG"
        and max(photo.size) <= LONGEST_SIDE
        and all(name == "APP0" and data.startswith(b"JFIF") for name, data in photo.applist)
        and content.endswith(b"\xff\xd9")
    )
