"""Photos and PDF files for tests, made up."""

from io import BytesIO

from PIL import Image

PDF = b"%PDF-1.7\n1 0 obj\n<< /Type /Catalog >>\nendobj\ntrailer << /Root 1 0 R >>\n%%EOF\n"


def photo(size: tuple[int, int] = (60, 40), format: str = "JPEG", colour="white", **save) -> bytes:
    """Return a plain picture of one colour; `save` goes to Pillow's save, such as exif."""
    out = BytesIO()
    Image.new("RGB", size, colour).save(out, format, **save)
    return out.getvalue()


def telephone_photo(size: tuple[int, int] = (60, 40)) -> bytes:
    """Return a photo as a telephone takes it: lying on its side, with maker, time and place written in."""
    exif = Image.Exif()
    exif[0x0112] = 6  # to be turned a quarter clockwise
    exif[0x010F] = "Invented Telephones"
    exif.get_ifd(0x8825)[1] = "N"
    return photo(size, exif=exif, comment=b"seen at 41.2 north")


def opened(content: bytes) -> Image.Image:
    return Image.open(BytesIO(content))
