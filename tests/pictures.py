"""Photos and PDF files for tests, made up."""

from io import BytesIO

from PIL import Image


def pdf_of(*objects: bytes, root: int = 1) -> bytes:
    """Return a PDF of these objects, numbered from 1, with a table that says where each one is."""
    out, places = b"%PDF-1.7\n", []
    for number, content in enumerate(objects, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, content)
    rows = b"".join(b"%010d 00000 n \n" % place for place in places)
    table = b"xref\n0 %d\n0000000000 65535 f \n%s" % (len(objects) + 1, rows)
    end = b"trailer << /Size %d /Root %d 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (
        len(objects) + 1,
        root,
        len(out),
    )
    return out + table + end


PDF = pdf_of(b"<< /Type /Catalog /Pages 2 0 R >>", b"<< /Type /Pages /Kids [] /Count 0 >>")


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
