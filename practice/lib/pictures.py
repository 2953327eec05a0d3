"""Pictures from outside: saved anew, so that nothing but the picture is kept, and of a moderate size."""

from io import BytesIO

MOST_PIXELS = 40_000_000
# Of a photo that is handed in: its bytes, and the longest side that is kept of it.
LARGEST = 10_000_000
LONGEST_SIDE = 2000
QUALITY = 82
PNG = b"\x89PNG\r\n\x1a\n"
END_OF_PNG = b"\x00\x00\x00\x00IEND\xaeB`\x82"
# What a PNG needs to be drawn; all else is words, times, colors of a monitor, or another picture.
DRAWN = {b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND"}
END_OF_JPEG = b"\xff\xd9"


class NotAPicture(ValueError):
    """Neither a JPEG nor a PNG, or cut off."""


class TooManyPixels(ValueError):
    """More points than anybody prints; it was not unpacked."""


def clean_photo(content: bytes, otherwise: str = "This is not a photo. Choose a JPEG or PNG.") -> bytes:
    """Return a photo as it is kept: a JPEG of moderate size without anything but the picture.

    Raises ValueError, whose message says what to do: `otherwise` where it is no photo.
    """
    if len(content) > LARGEST:
        raise ValueError("This file is larger than 10 MB. Take a smaller photo.")
    try:
        return clean_picture(content, LONGEST_SIDE)
    except TooManyPixels:
        raise ValueError("This photo has more than 40 megapixels. Take a smaller photo.") from None
    except NotAPicture:
        raise ValueError(otherwise) from None


def clean_picture(content: bytes, longest: int, keep_glass: bool = False) -> bytes:
    """Return a JPEG, upright, of at most `longest` points a side, on white.

    With `keep_glass` a PNG stays one, so that paper shows through it. What is like this already comes back
    unchanged. Raises NotAPicture or TooManyPixels.
    """
    from PIL import Image, ImageOps

    try:
        with Image.open(BytesIO(content), formats=["JPEG", "PNG"]) as source:
            if not _is_whole(content):
                raise NotAPicture
            if source.width * source.height > MOST_PIXELS:
                raise TooManyPixels
            as_png = keep_glass and source.format == "PNG"
            plain = _is_plain_png(content) if as_png else _is_plain_jpeg(source, content)
            if plain and max(source.size) <= longest:
                source.load()
                return content
            source.draft("RGB", (longest, longest))
            picture = ImageOps.exif_transpose(source)
            picture = picture.convert("RGBA" if picture.has_transparency_data else "RGB")
            picture.thumbnail((longest, longest))
    except Image.DecompressionBombError:
        raise TooManyPixels from None
    except (NotAPicture, TooManyPixels):
        raise
    except (OSError, SyntaxError, ValueError):
        raise NotAPicture from None
    # A new picture: the old one would save what its file said of it.
    paper = Image.new("RGBA" if as_png and picture.mode == "RGBA" else "RGB", picture.size, "white")
    paper.paste(picture, mask=picture if paper.mode == "RGB" and picture.mode == "RGBA" else None)
    out = BytesIO()
    paper.save(out, *(["PNG"] if as_png else ["JPEG"]), quality=QUALITY, optimize=True)
    return out.getvalue()


def _is_whole(content: bytes) -> bool:
    """Whether a JPEG or PNG has its end. Pillow itself no longer asks once WeasyPrint is imported."""
    if content.startswith(PNG):
        return END_OF_PNG in content
    scan = _scan_of(content)
    return scan is not None and END_OF_JPEG in content[scan:]


def _scan_of(content: bytes) -> int | None:
    """Return where the scan of a JPEG begins; its data cannot hold an end mark."""
    at = 2
    while content[at : at + 1] == b"\xff":
        if content[at + 1 : at + 2] == b"\xda":
            return at
        filled = content[at + 1 : at + 2] == b"\xff"
        at += 1 if filled else 2 + int.from_bytes(content[at + 2 : at + 4], "big")
    return None


def _is_plain_jpeg(source, content: bytes) -> bool:
    """Whether it is a JPEG as this module writes it: no segment of anybody else, nothing behind it."""
    return (
        source.format == "JPEG"
        and all(name == "APP0" and data.startswith(b"JFIF") for name, data in source.applist)
        and content.find(END_OF_JPEG, _scan_of(content)) == len(content) - len(END_OF_JPEG)
    )


def _is_plain_png(content: bytes) -> bool:
    """Whether it is a PNG of nothing but its drawing, with nothing behind it."""
    at = len(PNG)
    while at < len(content):
        length, kind = int.from_bytes(content[at : at + 4], "big"), content[at + 4 : at + 8]
        if kind not in DRAWN:
            return False
        at += 12 + length
        if kind == b"IEND":
            break
    return at == len(content)
