"""The practice's logo: one PNG or JPEG in the data folder."""

from pathlib import Path

from django.conf import settings

from practice.lib.kept_files import replace_file
from practice.lib.pictures import PNG, NotAPicture, TooManyPixels, clean_picture

NAMES = ("logo.png", "logo.jpg")
LARGEST = 2_000_000
LONGEST_SIDE = 1200


def logo_file() -> Path | None:
    """Return the file of the logo; None if there is none."""
    return next((path for name in NAMES if (path := settings.DATA_DIR / name).is_file()), None)


def keep_logo(content: bytes | None) -> None:
    """Save a PNG or JPEG as the logo, cleaned; None deletes it. Raises ValueError for anything else."""
    kept = None
    if content is not None:
        clean = clean_logo(content)
        kept = f"logo{suffix_of(clean)}"
        replace_file(settings.DATA_DIR / kept, clean)
    for name in NAMES:
        if name != kept:
            (settings.DATA_DIR / name).unlink(missing_ok=True)


def clean_logo(content: bytes) -> bytes:
    """Return a PNG or JPEG of at most 2 MB as it is kept: the picture alone, 1,200 points a side at most.

    The content decides what it is, not the file's name; what is clean already comes back unchanged.
    Raises ValueError for anything else; the message says what to do.
    """
    if len(content) > LARGEST:
        raise ValueError("This picture is larger than 2 MB. Choose a smaller one.")
    try:
        return clean_picture(content, LONGEST_SIDE, keep_glass=True)
    except TooManyPixels:
        raise ValueError("This picture has more than 40 megapixels. Choose a smaller one.") from None
    except NotAPicture:
        raise ValueError("This is not a PNG or JPEG picture. Choose another file.") from None


def suffix_of(clean: bytes) -> str:
    """Return `.png` or `.jpg` by the content of a clean logo."""
    return ".png" if clean.startswith(PNG) else ".jpg"
