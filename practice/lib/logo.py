"""The practice's logo: one PNG or JPEG in the data folder."""

from pathlib import Path

from django.conf import settings

from practice.lib.kept_files import replace_file

NAMES = ("logo.png", "logo.jpg")


def logo_file() -> Path | None:
    """Return the file of the logo; None if there is none."""
    return next((path for name in NAMES if (path := settings.DATA_DIR / name).is_file()), None)


def keep_logo(content: bytes | None) -> None:
    """Save a PNG or JPEG as the logo; None deletes it. Raises ValueError for anything else."""
    kept = f"logo{picture_suffix(content)}" if content is not None else None
    if kept:
        replace_file(settings.DATA_DIR / kept, content)
    for name in NAMES:
        if name != kept:
            (settings.DATA_DIR / name).unlink(missing_ok=True)


def picture_suffix(content: bytes) -> str:
    """Return `.png` or `.jpg` by the content of a file of at most 2 MB, not by its name.

    Raises ValueError for anything else.
    """
    from io import BytesIO

    from PIL import Image, UnidentifiedImageError

    if len(content) > 2_000_000:
        raise ValueError("This picture is larger than 2 MB. Choose a smaller one.")
    try:
        with Image.open(BytesIO(content), formats=["PNG", "JPEG"]) as picture:
            picture.verify()
            return ".png" if picture.format == "PNG" else ".jpg"
    except (UnidentifiedImageError, OSError, SyntaxError, Image.DecompressionBombError):
        raise ValueError("This is not a PNG or JPEG picture. Choose another file.") from None
